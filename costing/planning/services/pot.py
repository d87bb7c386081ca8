"""The weekly pot as one report: what page, paper and the home page's line say of it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from django.urls import reverse

from config.showing import in_words, pence_as_pounds
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.money import to_pence
from costing.core.periods import ONE_DAY
from costing.core.records import Period
from costing.models import PotBill, PotPlan
from costing.planning.core.bills import Bill, Bills, year_from
from costing.planning.core.pot import (
    Illness,
    Smallest,
    Weeks,
    balance_needed,
    illness,
    least_in,
    smallest_weekly,
    weeks_off,
)
from costing.planning.services.pot_bills import bills_of
from costing.planning.services.pot_gathered import gather, rows_of
from costing.planning.services.pot_rows import PotRows
from costing.wording.lines import Line
from fleet.core.days import add_months
from fleet.core.odometer import Odometer
from fleet.models import Car
from fleet.queries import DueReport, cars_of, due_report
from instructors.models import Member

#: A balance told longer ago than this is asked for again.
_OLD = timedelta(days=7)


class MonthAhead(NamedTuple):
    """One month counted from today: its bills, what they come to, what is put by in it, and the least in the pot.

    ``lowest`` is the least on any of its days, after that day's bills.
    """

    days: Period
    bills: tuple[Bill, ...]
    total: int
    put_by: int
    lowest: int


@dataclass(frozen=True)
class PotReport:
    """The pot of one member on one day. Sums are whole pence.

    ``balance`` is what is in hand, nothing while there is no plan. ``smallest`` is the weekly sum that meets every
    bill; ``if_it_goes_back`` the same without the final payment, where the member has not said which. ``standing`` is
    how far the balance lies above what the member's own weekly sum needs, below nought behind it; None if they have
    told none. ``evenly`` is the share of the year's bills of each week in which money is put by; with ``for_even`` more
    in hand today it would do. ``hired`` are the marks of the cars that are held on hire or rental.
    """

    today: date
    year: Period
    plan: PotPlan | None
    typed: tuple[PotBill, ...]
    bills: Bills
    weeks: Weeks
    balance: int
    smallest: Smallest
    if_it_goes_back: Smallest | None
    standing: int | None
    illness: Illness | None
    months: tuple[MonthAhead, ...]
    cars: tuple[Car, ...]
    hired: frozenset[str]

    @property
    def is_empty(self) -> bool:
        """Whether nothing is known that will have to be paid."""
        return not self.bills.known

    @property
    def total(self) -> int:
        return sum(bill.pence for bill in self.bills.known)

    @property
    def evenly(self) -> int:
        return -(-self.total // max(1, self.weeks.put_by(self.year.last + ONE_DAY)))

    @property
    def for_even(self) -> int:
        return max(0, balance_needed(self.bills.known, self.evenly, self.weeks) - self.balance)

    @property
    def is_old(self) -> bool:
        """Whether the balance was told more than a week ago."""
        return self.plan is not None and self.today - self.plan.balance_on > _OLD

    @property
    def asks_of_the_end(self) -> bool:
        """Whether the member has not said if they make a final payment that comes within the year."""
        return self.if_it_goes_back is not None


def pot_report(
    member: Member,
    today: date,
    *,
    due: DueReport | None = None,
    odometers: Mapping[int, Odometer] | None = None,
) -> PotReport:
    """Return the weekly pot of a member on ``today``.

    ``due`` is what falls due on the member's own cars and for the member, ``odometers`` by car id reach back as far as
    their readings do; whoever has them spares asking for them.
    """
    due = due or due_report(today, cars=cars_of(member, today), members=[member])
    return _report(member, today, due, rows_of(member, due), odometers)


def _report(
    member: Member, today: date, due: DueReport, rows: PotRows, odometers: Mapping[int, Odometer] | None
) -> PotReport:
    year = year_from(today)
    book = gather(member, year, due, rows, odometers)
    plan, bills = rows.plan, bills_of(book)
    weeks = weeks_off(today, holidays_of(plan), year.last)
    balance = to_pence(plan.balance) if plan else 0
    going_back = [bill for bill in bills.known if not bill.may_go_back]
    is_asked = len(going_back) < len(bills.known) and (plan is None or plan.keeps_car is None)
    if plan and plan.keeps_car is False:
        bills = bills._replace(known=tuple(going_back))
    smallest = smallest_weekly(bills.known, balance, weeks)
    weekly, in_hand = smallest.weekly, balance + smallest.short
    own = None if plan is None or plan.weekly is None else to_pence(plan.weekly)
    ill = plan.ill_weeks if plan else None
    return PotReport(
        today,
        year,
        plan,
        tuple(rows.typed),
        bills,
        weeks,
        balance,
        smallest,
        smallest_weekly(going_back, balance, weeks) if is_asked else None,
        None if own is None else balance - balance_needed(bills.known, own, weeks),
        illness(bills.known, balance, weekly, weeks, ill) if ill else None,
        tuple(_months(bills.known, year, in_hand, weekly, weeks)),
        tuple(book.cars),
        frozenset(_hired(book.cars, rows, today)),
    )


def _hired(cars: Iterable[Car], rows: PotRows, today: date) -> Iterator[str]:
    """Yield the marks of the cars whose agreement on ``today`` is a hire; one that has yet to begin is none."""
    for car in cars:
        begun = [one for one in rows.agreements if one.car_id == car.pk and one.starts_on <= today]
        if begun and AGREEMENT_KINDS[begun[-1].kind].is_hire:
            yield car.registration


def pot_line(
    member: Member,
    today: date,
    *,
    due: DueReport,
    odometers: Mapping[int, Odometer] | None = None,
) -> Line | None:
    """Return the pot in one line: "£63.20 a week for the pot: £140.15 behind"; None while the member has none.

    It says how many bills are left out because they are not known. It takes three queries, and two if there is no plan:
    see `pot_report` for what spares more. Its sums are those of the page, to the penny.
    """
    rows = rows_of(member, due)
    if rows.plan is None:
        return None
    report = _report(member, today, due, rows, odometers)
    if report.is_empty:
        return None
    return Line(_in_one_line(report), reverse("costing:pot"), "stone")


def _in_one_line(report: PotReport) -> str:
    line = f"{pence_as_pounds(report.smallest.weekly)} a week for the pot{_left_out(len(report.bills.not_known))}"
    if report.smallest.short:
        return f"{line}: {pence_as_pounds(report.smallest.short)} missing now"
    if report.standing is None:
        return line
    if report.standing < 0:
        return f"{line}: {pence_as_pounds(-report.standing)} behind"
    return f"{line}: {pence_as_pounds(report.standing)} ahead" if report.standing else f"{line}: on course"


def _left_out(count: int) -> str:
    """Say how many bills are left out because their price or day is not known; "" if none is."""
    if not count:
        return ""
    return f", without {in_words(count)} bill{'' if count == 1 else 's'} not known"


def holidays_of(plan: PotPlan | None) -> list[Period]:
    """Return the days on which nothing is earned, as planned."""
    spans = plan.holidays if plan else []
    return [Period(date.fromisoformat(first), date.fromisoformat(last)) for first, last in spans]


def _months(bills: Sequence[Bill], year: Period, balance: int, weekly: int, weeks: Weeks) -> list[MonthAhead]:
    """The twelve months from today."""
    months = []
    for number in range(12):
        first = add_months(year.first, number)
        days = Period(first, add_months(year.first, number + 1) - ONE_DAY)
        of_month = tuple(bill for bill in bills if days.first <= bill.on <= days.last)
        times = weeks.put_by(days.last + ONE_DAY) - weeks.put_by(first)
        lowest = least_in(bills, balance, weekly, weeks, days)
        months.append(MonthAhead(days, of_month, sum(bill.pence for bill in of_month), weekly * times, lowest))
    return months
