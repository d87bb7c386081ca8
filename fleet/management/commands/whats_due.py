"""Show what falls due, as of one day: the states of all due items of cars and members."""

from datetime import date
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from config import showing
from config.commands import BookCommand, DataSaysNo, argument, day
from fleet.core import registration
from fleet.core.verdict import Verdict
from fleet.models import Car
from fleet.queries import CarDue, DueLine, DueReport, MemberDue, due_report
from fleet.wording import STATE_WORDS, VERDICT_WORDS, reason_words, verdict_words, when_booked


class Command(BookCommand):
    help = "Show what falls due on the cars and for the members."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--on", type=day, metavar="DAY", help="as of this day (2027-03-05), else today")
        parser.add_argument("--car", type=argument(registration.read), metavar="MARK", help="this car alone")

    def handle(self, *args: Any, **options: Any) -> None:
        on = options["on"] or timezone.localdate()
        report = due_report(on, cars=[_car(options["car"])]) if options["car"] else due_report(on)
        if options["car"] and not report.cars:
            raise DataSaysNo(f"{registration.show(options['car'])} was not in service any more on {showing.day(on)}.")
        if options["json"]:
            self.print_json(
                {"on": on, "cars": [_of_car(car) for car in report.cars]}
                | {"members": [_of_member(member) for member in report.members]}
            )
        else:
            self._print(report)

    def _print(self, report: DueReport) -> None:
        self.stdout.write(f"As of {showing.day(report.on)}\n\n")
        self.print_table(["Car", "For lessons", "Why"], [_verdict(car, report.on) for car in report.cars])
        self.stdout.write("\n")
        self.print_table(
            ["Car or member", "What", "State", "Due"],
            [
                (line.subject.words, line.title, STATE_WORDS[line.status.state], when_booked(line.status))
                for line in report.lines()
            ],
        )


def _car(mark: str) -> Car:
    car = Car.objects.filter(registration=mark).select_related("keeper").first()
    if car is None:
        raise DataSaysNo(f"There is no car {registration.show(mark)} in the book.")
    return car


def _verdict(car: CarDue, on: date) -> tuple[str, str, str]:
    """A car's mark, the verdict on it for lessons, and what that rests on."""
    mark, verdict = registration.show(car.registration), car.verdict
    if car.reasons:
        why = "; ".join(map(reason_words, car.reasons))
    elif verdict.verdict is Verdict.NOTHING_AGAINST:
        why = ""
    else:
        why = verdict_words(verdict, mark, car.titles, on)
    return mark, VERDICT_WORDS[verdict.verdict], why


def _of_car(car: CarDue) -> dict[str, Any]:
    return {
        "registration": car.registration,
        "verdict": car.verdict.verdict,
        "off_the_road": car.off_the_road,
        "reasons": list(dict.fromkeys(reason.name for reason in car.reasons)),
        "items": [_of_item(line) for line in car.items],
    }


def _of_member(due: MemberDue) -> dict[str, Any]:
    items = [_of_item(line) for line in due.items]
    return {"email": due.member.email, "name": due.member.name, "items": items}


def _of_item(line: DueLine) -> dict[str, Any]:
    status = line.status
    return {
        "kind": status.kind,
        "due_on": status.due_on,
        "due_miles": status.due_miles,
        "forecast_on": status.forecast_on,
        "state": status.state,
        "days_left": status.days_left,
    }
