"""``manage.py running_cost``: the true cost of each car over a period."""

from datetime import date
from fractions import Fraction
from typing import Any

from django.core.management.base import CommandParser

from config import showing
from config.commands import BookCommand, DataSaysNo, argument, day
from costing.core.money import to_places, to_pounds
from costing.core.records import Period
from costing.report import CarReport, car_reports
from fleet.core import registration
from fleet.queries import every_car


class Command(BookCommand):
    help = "Print each car's true cost over a period, both days included."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--from", dest="first", type=day, required=True, metavar="DAY")
        parser.add_argument("--to", dest="last", type=day, required=True, metavar="DAY")
        parser.add_argument(
            "--car", type=argument(registration.read), metavar="MARK", help="only the car with this registration mark"
        )

    def handle(self, *args: Any, first: date, last: date, car: str | None, json: bool, **options: Any) -> None:
        if last < first:
            raise DataSaysNo(f"The period ends on {last}, before it begins on {first}.")
        reports = _reports(Period(first, last), car)
        if json:
            self.print_json({"from": first, "to": last, "cars": [_plain(report) for report in reports]})
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
            [_row(report) for report in reports],
        )
        for report in reports:
            if report.missing:
                self.stdout.write(f"{registration.show(report.car.registration)}: {'; '.join(report.missing)}.")
        if any(report.cost.estimated for report in reports):
            self.stdout.write("~ includes an estimate: the loss of value since the last valuation.")


def _reports(period: Period, mark: str | None) -> list[CarReport]:
    """Return the report of the named car, or of every car that was in service or cost anything in the period."""
    cars = every_car()
    if mark is not None:
        cars = [car for car in cars if car.registration == mark]
        if not cars:
            raise DataSaysNo(f"No car has the registration mark {registration.show(mark)}.")
    reports = [of_car[0] for of_car in car_reports([period], cars=cars)] if cars else []
    return [report for report in reports if mark is not None or _concerns(report)]


def _concerns(report: CarReport) -> bool:
    car, period = report.car, report.period
    served = car.in_service_from <= period.last and not (car.in_service_to and car.in_service_to < period.first)
    return served or bool(report.cost.by_category) or bool(report.cost.money_out)


def _money(pence: int | None) -> str | None:
    return None if pence is None else str(to_pounds(pence))


def _plain(report: CarReport) -> dict[str, Any]:
    cost = report.cost
    return {
        "registration": report.car.registration,
        "miles": cost.miles,
        "private_miles": cost.private_miles,
        "business_share": None if report.business_share is None else str(report.business_share),
        "lessons": cost.lessons,
        "lesson_hours": float(to_places(Fraction(cost.minutes, 60), 2)),
        "true_cost": _money(cost.true_cost),
        "by_category": {name: _money(pence) for name, pence in cost.by_category.items()},
        "money_out": _money(cost.money_out),
        "cost_per_mile": _money(cost.cost_per_mile),
        "cost_per_lesson_hour": _money(cost.cost_per_lesson_hour),
        "cost_per_lesson": _money(cost.cost_per_lesson),
        "mpg": None if report.mpg is None else float(report.mpg),
        "miles_per_kwh": None if report.miles_per_kwh is None else float(report.miles_per_kwh),
        "estimated": list(cost.estimated),
        "missing": report.missing,
    }


def _row(report: CarReport) -> list[str]:
    cost = report.cost

    def shown(pence: int | None) -> str:
        return "-" if pence is None else showing.pence_as_pounds(pence)

    return [
        registration.show(report.car.registration),
        "-" if cost.miles is None else showing.whole(cost.miles),
        showing.hours(cost.minutes),
        ("~" if cost.estimated else "") + showing.pence_as_pounds(cost.true_cost),
        showing.pence_as_pounds(cost.money_out),
        shown(cost.cost_per_mile),
        shown(cost.cost_per_lesson_hour),
        shown(cost.cost_per_lesson),
    ]
