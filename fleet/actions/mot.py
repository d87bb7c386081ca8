"""Results of MOT tests: a pass with its advisories, and a failure, which leaves the MOT due."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from config import showing
from fleet.actions.acts import note_act
from fleet.actions.completions import Bill, complete_due_item, log_bill, note_odometer
from fleet.actions.defects import report_defect
from fleet.actions.due_items import locked_item, move_item
from fleet.actions.odometer import refuse_future
from fleet.core.defects import Severity
from fleet.models import Car, Completion, Defect, DueItem, FoundBy
from instructors.models import Member

#: What was found, in the tester's words, by severity.
Findings = Mapping[Severity, Sequence[str]]


@transaction.atomic
def record_mot_pass(*, by: Member, item: DueItem, ref: str, advised: Sequence[str], **met: Any) -> Completion:
    """Record a pass, as ``complete_due_item`` takes it, and each advisory as a defect to watch."""
    completion = complete_due_item(by=by, item=item, **met)
    _report(by, _car_of(completion.due_item), ref, completion.done_on, {Severity.WATCH: advised})
    return completion


@transaction.atomic
def record_mot_failure(
    *,
    by: Member,
    item: DueItem,
    ref: str,
    tested_on: date,
    findings: Findings,
    odometer: int | None = None,
    bill: Bill | None = None,
    picture: bytes | None = None,
) -> list[Defect]:
    """Record what a car failed its MOT for, worst first. The old certificate stays as it is.

    A booking for this test is removed. ``picture`` belongs to the worst defect. The same ``ref`` again changes
    nothing. Raises ValidationError on the field that is wrong.
    """
    refuse_future("tested_on", tested_on)
    if not any(findings.get(severity) for severity in Severity if severity.stops_car):
        raise ValidationError({"major": "Enter at least one item that the car failed for."})
    item = locked_item(item)
    car = _car_of(item)
    if Defect.objects.filter(reported_by=by, ref=_ref(ref, 0)).exists():
        return _report(by, car, ref, tested_on, findings)
    note_act(by, car, "mot_failed", f"tested on {showing.day(tested_on)}")
    if odometer is not None:
        note_odometer(by, car, tested_on, odometer)
    if bill is not None:
        log_bill(by, item, bill, tested_on)
    if item.booked_for is not None and item.booked_for <= tested_on:
        move_item(by, item, {"booked_for": None})
    return _report(by, car, ref, tested_on, findings, picture)


def _report(
    by: Member, car: Car, ref: str, found_on: date, findings: Findings, picture: bytes | None = None
) -> list[Defect]:
    in_order = [(severity, description) for severity in Severity for description in findings.get(severity, ())]
    reported: list[Defect] = []
    first: Defect | None = None
    for number, (severity, description) in enumerate(in_order):
        defect, is_new = report_defect(
            by=by,
            car=car,
            ref=_ref(ref, number),
            severity=severity,
            description=description,
            found_on=found_on,
            found_by=FoundBy.MOT,
            picture=None if number else picture,
            along_with=first,
        )
        first = first or (defect if is_new else None)
        reported.append(defect)
    return reported


def _car_of(item: DueItem) -> Car:
    if item.car is None:
        raise ValueError("an MOT is a car's")
    return item.car


def _ref(ref: str, number: int) -> str:
    return f"{ref}-mot-{number}"
