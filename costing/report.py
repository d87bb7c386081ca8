"""The report that pages, commands and documents share, so that their figures cannot disagree."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from config import showing
from costing import wording
from costing.core.catalogue.costs import COST_CATEGORIES, CostGroup
from costing.core.economy import Economy
from costing.core.group import Shown, shown
from costing.core.known import so_far
from costing.core.lesson_hour import dearest_of_groups, lesson_hour_by_group
from costing.core.missing import Missing, Reason, is_to_come, of_lesson_hour
from costing.core.money import divide_half_up, to_places
from costing.core.records import CarBook, Period
from costing.core.running_cost import RunningCost, running_costs
from costing.core.together import together
from costing.core.use import Use
from costing.queries import car_books, closing_of
from costing.wording.mends import ToLog, ways_to_log
from costing.wording.service import had_no_car
from fleet.core import registration
from fleet.models import Car
from instructors.models import Cooperative, Member
from instructors.queries import cooperative


@dataclass(frozen=True)
class CostLine:
    """One component of a true cost: its pence, how the figure is made, and what charts draw it with."""

    category: str
    label: str
    pence: int
    estimated: bool
    source: str
    group: CostGroup


@dataclass(frozen=True)
class Figures:
    """The figures of a running cost as they are shown."""

    cost: RunningCost

    @property
    def business_share(self) -> Decimal | None:
        """The part of the miles that was not private, 0 to 1, to four places."""
        share = self.cost.business_share
        return None if share is None else to_places(share, 4)

    @property
    def mpg(self) -> Decimal | None:
        """Miles per imperial gallon, to two places."""
        return _two_places(self.cost.litre_economy, "miles_per_gallon")

    @property
    def litres_per_100_km(self) -> Decimal | None:
        return _two_places(self.cost.litre_economy, "litres_per_100_km")

    @property
    def miles_per_kwh(self) -> Decimal | None:
        return _two_places(self.cost.kwh_economy, "miles_per_kwh")


def _two_places(economy: Economy | None, figure: str) -> Decimal | None:
    value = economy and getattr(economy, figure)
    return None if value is None else to_places(value, 2)


@dataclass(frozen=True)
class CarReport(Figures):
    """The figures of one car over one period, with the words for them."""

    car: Car

    @property
    def period(self) -> Period:
        return self.cost.period

    @property
    def lines(self) -> list[CostLine]:
        """The components of the true cost, dearest first."""
        return [
            CostLine(name, row.label, pence, name in self.cost.estimated, row.source, row.group)
            for name, pence in sorted(self.cost.by_category.items(), key=lambda item: -item[1])
            for row in [COST_CATEGORIES[name]]
        ]

    @property
    def missing(self) -> list[str]:
        """Why figures are absent or partial, in words."""
        return _in_words(self.cost.missing)

    @property
    def to_log(self) -> ToLog | None:
        """The one thing to do that would make the period's lesson hour known, if one would."""
        if self.cost.cost_per_lesson_hour is not None:
            return None
        lacking = of_lesson_hour(self.cost.missing)
        return next((way for found in lacking for way in ways_to_log(found, self.cost, self.car)), None)

    @property
    def is_out_of_service(self) -> bool:
        """Whether the car was in service on no day of the period and has cost nothing in it."""
        return Missing(Reason.NOT_IN_SERVICE) in self.cost.missing and not self.cost.by_category

    @property
    def concerns_period(self) -> bool:
        """Whether the car was in service in the period or cost anything, or there is something else to say of it."""
        is_all = self.cost.missing == (Missing(Reason.NOT_IN_SERVICE),)
        return bool(self.cost.by_category or self.cost.money_out) or not is_all


def car_reports(
    periods: Sequence[Period], *, cars: Collection[Car], member: Member | None = None
) -> list[list[CarReport]]:
    """Return, for each car, a report of each period. With ``member``, only that member's records count.

    The number of queries is the same however many cars and periods there are.
    """
    rate = cooperative().depreciation_rate
    whole = Period(min(period.first for period in periods), max(period.last for period in periods))
    return reports_from(car_books(cars, whole, member=member), cars, periods, rate)


def reports_from(
    books: Mapping[int, CarBook], cars: Iterable[Car], periods: Sequence[Period], rate: Decimal
) -> list[list[CarReport]]:
    """Return, for each car, a report of each period, from ``books`` by car id that hold all that affects them."""
    return [reports_of(car, Use(books[car.pk]), periods, rate) for car in cars]


def reports_of(car: Car, use: Use, periods: Sequence[Period], rate: Decimal) -> list[CarReport]:
    """Return a report of each period of one car, from the ``use`` of its book, which others may ask too."""
    return [CarReport(cost, car) for cost in running_costs(use, periods, depreciation_rate=rate)]


@dataclass(frozen=True)
class Together(Figures):
    """The figures of a member's cars over one period as one, and the reports that they come from."""

    reports: tuple[CarReport, ...]

    @property
    def is_out_of_service(self) -> bool:
        """Whether none of the cars was the member's and in service on a day of the period, nor cost anything."""
        return all(report.is_out_of_service for report in self.reports)

    @property
    def missing(self) -> list[str]:
        """Why figures are absent or partial, naming the car if there are several."""
        return self._named(_reasons)

    @property
    def missing_of_lesson_hour(self) -> list[str]:
        """What of it takes the cost of a lesson hour away; all of it if none of it alone does."""
        if self.is_out_of_service:
            return [had_no_car()]
        return self._named(_reasons_of_lesson_hour) or self.missing

    def _named(self, reasons_of: Callable[[CarReport], list[str]]) -> list[str]:
        return [
            f"{registration.show(report.car.registration)}: {reason}" if len(self.reports) > 1 else reason
            for report in self.reports
            for reason in reasons_of(report)
        ]


@dataclass(frozen=True)
class OwnFigures:
    """A member's own costs over a period, all their cars together, in pence; None for an absent figure.

    ``reasons`` say why, ``to_log`` is the one thing that would help, and ``known_until`` the day until which readings,
    fills and lessons have come in, whatever the period; ``is_to_come`` is whether the lesson hour lacks nothing else.
    ``in_service`` is whether any of the cars was. ``hours_per_lesson`` is the average length of their lessons; None
    without lessons. ``by_group`` is what the lesson hour is made of, to the penny; empty without it. ``dearest`` is the
    category of each group that cost most. ``minutes`` were taught; None if they are not told.
    """

    cost_per_lesson_hour: int | None
    cost_per_lesson: int | None
    cost_per_mile: int | None
    reasons: tuple[str, ...]
    in_service: bool
    estimated: bool
    hours_per_lesson: Fraction | None
    by_group: Mapping[CostGroup, int]
    dearest: Mapping[CostGroup, str]
    minutes: int | None
    known_until: date | None
    to_log: ToLog | None
    is_to_come: bool


@dataclass(frozen=True)
class OwnBesideGroup:
    """A member's own figures of a period beside the group's.

    ``group`` is None until the month is closed.
    """

    title: str
    period: Period
    own: OwnFigures
    group: Shown | None

    @property
    def lesson_like_own(self) -> int | None:
        """What a lesson of the member's average length would cost at the group's cost of a lesson hour, in pence."""
        median = self.group and self.group.median_cost_per_lesson_hour
        length = self.own.hours_per_lesson
        return None if median is None or length is None else divide_half_up(median * length, 1)


def known_part(books: Iterable[CarBook], period: Period) -> Period:
    """Return the part of a ``period`` that is known of all the books held in it; all of it while no day is known."""
    known, _ = so_far(list(books), period)
    return known or period


def so_far_title(name: str, running: Period, known: Period) -> str:
    """Say which part of what still runs a figure is of, as in "November 2026 so far, to Monday"; it ends today."""
    title = f"{name} so far"
    return title if known.last == running.last else f"{title}, to {showing.near_day(known.last, running.last)}"


def taken_together(reports: Sequence[Sequence[CarReport]], periods: int) -> list[OwnFigures]:
    """Return a member's own figures of so many periods, from the reports of each of their cars."""
    return [_taken_together([of_car[index] for of_car in reports]) for index in range(periods)]


def _taken_together(of_all_cars: Sequence[CarReport]) -> OwnFigures:
    if not of_all_cars:
        return OwnFigures(
            *(None, None, None, (had_no_car(),)),
            in_service=False,
            estimated=False,
            hours_per_lesson=None,
            by_group={},
            dearest={},
            minutes=0,
            known_until=None,
            to_log=None,
            is_to_come=False,
        )
    of_all = all_together(of_all_cars)
    cost, reports = of_all.cost, of_all.reports
    in_service = any(not report.is_out_of_service for report in reports)
    return OwnFigures(
        cost_per_lesson_hour=cost.cost_per_lesson_hour,
        cost_per_lesson=cost.cost_per_lesson,
        cost_per_mile=cost.cost_per_mile,
        reasons=tuple(of_all.missing) if in_service else (had_no_car(),),
        in_service=in_service,
        estimated=bool(cost.estimated),
        hours_per_lesson=Fraction(cost.minutes, 60 * cost.lessons) if cost.minutes and cost.lessons else None,
        by_group=lesson_hour_by_group(cost),
        dearest=dearest_of_groups(cost),
        minutes=cost.minutes,
        known_until=cost.known_until,
        to_log=next((report.to_log for report in reports if report.to_log), None),
        is_to_come=is_to_come(of_lesson_hour(cost.missing)),
    )


def all_together(of_all_cars: Sequence[CarReport]) -> Together:
    """Return all of a member's cars over one period as one. Raises ValueError without cars."""
    # A car that has left or has yet to come must not make the other car's figures unknown.
    reports = [report for report in of_all_cars if not report.is_out_of_service] or of_all_cars
    cost = together([report.cost for report in reports])
    # What is paid or given back after the last day with a car is money out all the same.
    money_out = sum(report.cost.money_out for report in of_all_cars)
    return Together(replace(cost, money_out=money_out), tuple(reports))


def _reasons(report: CarReport) -> list[str]:
    """What is missing of a car; of one that was not in service nothing else is."""
    return [wording.missing(Missing(Reason.NOT_IN_SERVICE))] if report.is_out_of_service else report.missing


def _reasons_of_lesson_hour(report: CarReport) -> list[str]:
    """What takes the cost of a lesson hour away from a car."""
    if report.is_out_of_service:
        return _reasons(report)
    return _in_words(of_lesson_hour(report.cost.missing))


def _in_words(lacking: Iterable[Missing]) -> list[str]:
    return [wording.missing(found) for found in lacking]


def group_view(month: date, span: str, settings: Cooperative) -> Shown | None:
    """Return the group's figures of a closed month as they may be shown today; None while it is not closed."""
    closing = closing_of(month, span)
    return None if closing is None else shown(closing, settings.minimum_contributors)
