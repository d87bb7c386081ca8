"""What is recorded about one car, for the lists of ``fleet.core.requirements``."""

from datetime import date

from fleet.core.findings import Answer, Facts
from fleet.core.readiness import NOTHING_WRONG
from fleet.core.tread import Depth, readings_of_tyre
from fleet.models import Car, Confirmation, Wheel
from fleet.queries.checks import last_checks_of
from fleet.queries.condition import treads_of
from fleet.queries.due import DueReport


def facts_of(car: Car, report: DueReport) -> Facts:
    """What the book knows about a car on the day of ``report``, which is of the car and its keeper.

    Without due items if it is no longer in service.
    """
    on, due = report.on, next(iter(report.cars), None)
    return Facts(
        on=on,
        soft_top=car.soft_top,
        dual_controls=car.dual_controls,
        statuses={line.kind.name: line.status for line in due.items} if due else {},
        credentials={line.kind.name: line.status for member in report.members for line in member.items},
        condition=due.condition if due else NOTHING_WRONG,
        treads=_last_treads(car, on),
        checked_on=last_checks_of([car.pk]).get(car.pk),
        answers=_answers_of(car, on),
    )


def _answers_of(car: Car, on: date) -> dict[str, Answer]:
    """The latest answer up to ``on`` to each point, by its name."""
    rows = Confirmation.objects.filter(car=car, confirmed_on__lte=on).order_by("confirmed_on")
    return {point: Answer(day, is_met) for point, day, is_met in rows.values_list("point", "confirmed_on", "is_met")}


def _last_treads(car: Car, on: date) -> dict[str, Depth | None]:
    depths, moves = treads_of([car.pk], on)[car.pk]
    readings = {wheel: readings_of_tyre(wheel, depths, moves) for wheel in Wheel.values}
    return {wheel: of_tyre[-1]._replace(wheel=wheel) if of_tyre else None for wheel, of_tyre in readings.items()}
