"""What is left of a member's takings after the car, over weeks and months: for page, home and paper."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.urls import reverse

from config import showing
from costing import wording
from costing.core.keeping import lessons_elsewhere, minutes_in
from costing.core.known import so_far
from costing.core.missing import Missing, Reason
from costing.core.periods import last_ended_month
from costing.core.records import CarBook, Logged, Period
from costing.planning.core.left import (
    LATE,
    Left,
    last_sunday,
    left_of,
    told_until,
    untold,
    weeks_ending,
    weeks_of,
    weeks_with_a_car,
)
from costing.planning.services.takings import taken_by_week
from costing.queries import car_books
from costing.report import Together, all_together, reports_from
from costing.wording.lines import Line
from costing.wording.service import had_no_car
from fleet.models import Car
from fleet.queries import kept_cars
from instructors.models import Member
from instructors.queries import cooperative

#: Over so many of the last weeks it is said what is left.
SPANS = (4, 13, 52)
#: The span that home tells of.
OF_HOME = 13


@dataclass(frozen=True)
class LeftOver:
    """What is left over a period, or the ``reasons`` why that is not known; ``weeks`` of it, or None of a month.

    ``is_estimate`` if part of what the car cost then is one. ``unpaid`` of the weeks have neither lessons nor takings.
    """

    period: Period
    weeks: int | None
    left: Left | None
    reasons: tuple[str, ...]
    is_estimate: bool = False
    unpaid: int = 0

    @property
    def title(self) -> str:
        """What it is of, as in "13 weeks to 22 November": of the weeks that count, where it is known."""
        if self.weeks is None:
            return showing.month(self.period.first)
        count, last = (len(self.left.weeks), self.left.weeks[-1].last) if self.left else (self.weeks, self.period.last)
        return f"{count} week{'' if count == 1 else 's'} to {_day(last, self.period)}"

    @property
    def notes(self) -> list[str]:
        """What else is to be known of the weeks and of the hours, in sentences."""
        if self.left is None:
            return []
        found = []
        if len(self.left.weeks) < len(weeks_of(self.period)):
            of_all = f"{len(self.left.weeks)} of {len(weeks_of(self.period))}"
            found.append(f"Only weeks in which you kept a car count: {of_all}.")
        if self.weeks and self.unpaid:
            have = "has" if self.unpaid == 1 else "have"
            count = showing.in_words(self.unpaid).capitalize()
            found.append(f"{count} of these weeks {have} neither lessons nor takings.")
        if self.left.elsewhere:
            part = f"{showing.hours(self.left.elsewhere)} of the {showing.hours_taught(self.left.minutes)}"
            found.append(f"{part} were in a car that you did not keep then: what it cost is not in this.")
        return found


def left_over(member: Member, today: date) -> list[LeftOver]:
    """Return what is left of the last 4, 13 and 52 weeks that are told, and of the last month; eight queries."""
    first = weeks_ending(last_sunday(today), SPANS[-1] + LATE).first
    cars = kept_cars(member, since=first)
    times = {car.pk: of_car for car, of_car in cars.items()}
    books = car_books(cars, Period(first, today), member=member, times=times)
    taken_in = taken_by_week(member, first)
    until = _told_until(books, taken_in, today)
    spans: list[tuple[Period, int | None]] = [(weeks_ending(until, count), count) for count in SPANS]
    spans.append((last_ended_month(today), None))
    return _over(books, cars, taken_in, spans, cooperative().depreciation_rate)


def left_line(
    member: Member, books: Mapping[int, CarBook], cars: Collection[Car], today: date, *, rate: Decimal
) -> Line | None:
    """Return what is left an hour over the last 13 weeks, by one query; None while that is not known.

    ``books`` of the member's ``cars`` hold the last 17 weeks; ``rate`` is how much of its value a car loses a year.
    """
    taken_in = taken_by_week(member, weeks_ending(last_sunday(today), OF_HOME + LATE).first) if books else {}
    if not taken_in:
        return None
    period = weeks_ending(_told_until(books, taken_in, today), OF_HOME)
    [of_weeks] = _over(books, cars, taken_in, [(period, OF_HOME)], rate)
    if of_weeks.left is None:
        return None
    partly = ", partly an estimate" if of_weeks.is_estimate else ""
    return Line(f"{sentence(of_weeks)}{partly}", reverse("costing:takings"), "lessons")


def sentence(over: LeftOver) -> str:
    """Say what is left an hour, in the words of home. Raises ValueError where that is not known."""
    if over.left is None:
        raise ValueError("what is left is not known")
    an_hour = over.left.an_hour
    if an_hour < 0:
        return f"The car took {showing.pence_as_pounds(-an_hour)} an hour more than came in, {over.title}"
    return f"{showing.pence_as_pounds(an_hour)} an hour is left after the car, {over.title}"


def _told_until(books: Mapping[int, CarBook], taken_in: Mapping[date, int], today: date) -> date:
    _, known = so_far(list(books.values()), Period(today, today))
    return told_until(taken_in, known, today)


def _over(
    books: Mapping[int, CarBook],
    cars: Collection[Car],
    taken_in: Mapping[date, int],
    spans: Sequence[tuple[Period, int | None]],
    rate: Decimal,
) -> list[LeftOver]:
    """What is left of each period, by one pass over the books."""
    if not cars:
        return [LeftOver(period, weeks, None, (had_no_car(),)) for period, weeks in spans]
    lessons, elsewhere = next(iter(books.values())).logged or (), lessons_elsewhere(books)
    of_cars = reports_from(books, cars, [period for period, _ in spans], rate)
    found = []
    for number, (period, weeks) in enumerate(spans):
        together = all_together([of_car[number] for of_car in of_cars])
        counted = weeks_with_a_car(books.values(), period)
        mondays, minutes = untold(taken_in, lessons, counted), minutes_in(elsewhere, counted)
        left = left_of(together.cost, taken_in, counted, minutes)
        if left is None or mondays:
            lacks = _lacks(together, elsewhere, counted, minutes) if left is None else []
            reasons = (*_untold_in_words(mondays, period), *lacks)
            found.append(LeftOver(period, weeks, None, reasons))
            continue
        unpaid = sum(week.first not in taken_in for week in counted)
        found.append(LeftOver(period, weeks, left, (), bool(together.cost.estimated), unpaid))
    return found


def _lacks(
    together: Together, elsewhere: Collection[Logged], weeks: Sequence[Period], minutes: int | None
) -> Sequence[str]:
    """Why it is not known, in words, apart from takings; ``minutes`` were taught in cars that were not kept."""
    if minutes is not None:
        return together.missing_of_lesson_hour or ["no lessons were taught"]
    untold_hours = (one.from_on for one in elsewhere if minutes_in([one], weeks) is None)
    return [wording.missing(Missing(Reason.HOURS_UNTOLD, min(untold_hours)))]


def _untold_in_words(mondays: Sequence[date], period: Period) -> list[str]:
    """Name the first week without takings, with its year if that is not the period's, and how many more there are."""
    if not mondays:
        return []
    more = f" and {showing.in_words(len(mondays) - 1)} more" if len(mondays) > 1 else ""
    return [f"no takings for the week from {_day(mondays[0], period)}{more}"]


def _day(day: date, period: Period) -> str:
    """A day of a period, with its year if the period ends in another."""
    return showing.day(day) if day.year != period.last.year else f"{day.day} {day:%B}"
