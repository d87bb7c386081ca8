"""``manage.py running_cost``: the true cost of each car over a period."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.core.management.base import CommandParser

from config import showing
from config.commands import BookCommand, DataSaysNo, argument, day, email
from costing.core.catalogue.costs import DEPRECIATION
from costing.core.records import Period
from costing.core.running_cost import MILES, RunningCost
from costing.management import member_named
from costing.plain import figures
from costing.report import CarReport, all_together, car_reports
from fleet.core import registration
from fleet.queries import cars_ever_kept_by, every_car
from instructors.models import Member


class Command(BookCommand):
    help = "Print each car's true cost over a period, both days included."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--from", dest="first", type=day, required=True, metavar="DAY")
        parser.add_argument("--to", dest="last", type=day, required=True, metavar="DAY")
        parser.add_argument(
            "--car", type=argument(registration.read), metavar="MARK", help="only the car with this registration mark"
        )

        parser.add_argument("--member", type=email, metavar="EMAIL", help="this member's own time and money alone")

    def handle(
        self, *args: Any, first: date, last: date, car: str | None, member: str | None, json: bool, **options: Any
    ) -> None:
        if last < first:
            raise DataSaysNo(f"The period ends on {last}, before it begins on {first}.")
        whose = None if member is None else member_named(member)
        reports = _reports(Period(first, last), car, whose)
        if json:
            answer: dict[str, Any] = {"from": first, "to": last, "cars": [_plain(report) for report in reports]}
            if whose is not None:
                whole = all_together(reports) if reports else None
                answer["together"] = whole and figures(whole, whole.missing)
            self.print_json(answer)
            return
        self.stdout.write(f"True cost from {showing.day(first)} to {showing.day(last)}")
        self.print_table(
            [
                "car",
                "miles",
                "lesson hours",
                "true cost",
                "money out",
                "per mile",
                "per lesson hour",
                "per lesson",
            ],
            [*map(_row, reports), *([_together(reports)] if whose and len(reports) > 1 else [])],
        )
        for report in reports:
            if report.missing:
                self.stdout.write(f"{registration.show(report.car.registration)}: {'; '.join(report.missing)}.")
        for name, words in _ESTIMATES.items():
            if any(name in report.cost.estimated for report in reports):
                self.stdout.write(f"~ includes an estimate: {words}.")


_ESTIMATES = {
    DEPRECIATION.name: "the loss of value since the last valuation",
    MILES: "miles that take the odometer as level over the few days beside a reading",
}


def _reports(period: Period, mark: str | None, member: Member | None) -> list[CarReport]:
    """Return the report of the named car, or of every car that was used or cost anything in the period.

    With ``member`` it is of the cars that the member ever kept, in their own time and from their own money.
    """
    cars = every_car() if member is None else cars_ever_kept_by(member)
    if mark is not None:
        cars = [car for car in cars if car.registration == mark]
        if not cars:
            whose = "No car" if member is None else f"No car that {member.email} ever kept"
            raise DataSaysNo(f"{whose} has the registration mark {registration.show(mark)}.")
    reports = [of_car[0] for of_car in car_reports([period], cars=cars, member=member)] if cars else []
    return [report for report in reports if mark is not None or report.concerns_period]


def _plain(report: CarReport) -> dict[str, Any]:
    return {"registration": report.car.registration} | figures(report, report.missing)


def _together(reports: Sequence[CarReport]) -> list[str]:
    return _cells("together", all_together(reports).cost)


def _row(report: CarReport) -> list[str]:
    return _cells(registration.show(report.car.registration), report.cost)


def _cells(name: str, cost: RunningCost) -> list[str]:
    def shown(pence: int | None) -> str:
        return "-" if pence is None else showing.pence_as_pounds(pence)

    return [
        name,
        "-" if cost.miles is None else showing.whole(cost.miles),
        "-" if cost.minutes is None else showing.hours(cost.minutes),
        ("~" if cost.estimated else "") + showing.pence_as_pounds(cost.true_cost),
        showing.pence_as_pounds(cost.money_out),
        shown(cost.cost_per_mile),
        shown(cost.cost_per_lesson_hour),
        shown(cost.cost_per_lesson),
    ]
