"""What the home page says in one line each of money and of the co-op, once there is anything to say."""

from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from django.urls import reverse

from config.showing import in_words
from costing.months import MonthsReport
from costing.planning.report import left_line, pot_line
from costing.queries import last_logged
from costing.queries.dismissals import kept_by
from costing.statement.report import odd_line
from fleet.core.quiet import is_long_quiet
from fleet.models import Car
from fleet.queries import DueReport
from instructors.models import Member


class Line(NamedTuple):
    """One line with its icon, and the address that it opens; "" for none."""

    words: str
    to: str
    icon: str


def quiet_line(cars: Iterable[Car], on: date) -> Line | None:
    """How many who keep one of ``cars`` in service have logged neither fill, cost nor lessons for two weeks; one query.

    Who that is it does not say: each of them is told by mail. Whoever joined, or brought a car, since is not counted.
    """
    heard: dict[int, list[date]] = {}
    for car in cars:
        if car.keeper.belongs_on(on):
            begun = [day for day in (car.in_service_from, car.keeper.joined_on) if day]
            heard.setdefault(car.keeper_id, []).extend(begun)
    logged = last_logged(heard)
    count = sum(is_long_quiet(on, [*days, logged.get(pk, date.min)]) for pk, days in heard.items())
    if not count:
        return None
    words = f"{in_words(count)} {'member has' if count == 1 else 'members have'} logged nothing for two weeks"
    return Line(words[:1].upper() + words[1:], "", "entries")


def money_lines(member: Member, months: MonthsReport, own: DueReport, today: date, rate: Decimal) -> Iterator[Line]:
    """What looks odd, what the pot needs and what is left of a lesson hour, each where there is something to say.

    They rest on the books of ``months``; ``rate`` is how much of its value a car loses a year.
    """
    kept = kept_by(member)
    odd = odd_line({car: months.books[car.pk] for car in months.cars}, kept.dismissed, today)
    if odd:
        yield Line(odd.words, odd.to, "entries")
    pot = pot_line(member, today, due=own, odometers=months.odometers) if kept.has_pot else None
    if pot:
        yield Line(pot, reverse("costing:pot"), "cost")
    left = left_line(member, months.books, months.cars, today, rate=rate) if kept.has_takings else None
    if left:
        yield Line(left.words, reverse("costing:charge"), "lessons")
