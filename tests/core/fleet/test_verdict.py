"""The verdict on a car: off the road, not known, due, or nothing recorded against it."""

from datetime import date, timedelta

import pytest

from fleet.core.defects import OpenDefect, Severity
from fleet.core.due import DueRecord, DueStatus, State, due_status
from fleet.core.odometer import Odometer
from fleet.core.readiness import NOTHING_WRONG, OffRoadReason
from fleet.core.verdict import Verdict, verdict_of

TODAY = date(2026, 3, 16)
SCRATCH = OpenDefect(1, Severity.WATCH, "Scratch", TODAY)
MOT_OUT = OffRoadReason("mot", since=date(2026, 3, 10))


def item(kind: str, days_left: int | None, booked_in: int | None = None) -> DueStatus:
    due_on = None if days_left is None else TODAY + timedelta(days=days_left)
    booked_for = None if booked_in is None else TODAY + timedelta(days=booked_in)
    return due_status(DueRecord(kind, due_on, booked_for=booked_for), TODAY, Odometer(()))


def test_reasons_come_before_all_else() -> None:
    found = verdict_of([item("mot", -6), item("insurance", None)], [MOT_OUT], NOTHING_WRONG)
    assert (found.verdict, found.reasons, found.items) == (Verdict.OFF_THE_ROAD, (MOT_OUT,), ())


def test_what_is_not_known_comes_before_what_is_overdue_and_is_named_in_full() -> None:
    items = [item("service", -40), item("insurance", None), item("mot", None), item("vehicle_tax", 3)]
    found = verdict_of(items, [], NOTHING_WRONG)
    assert found.verdict is Verdict.NOT_KNOWN
    assert {status.kind for status in found.items} == {"insurance", "mot"}


@pytest.mark.parametrize(
    ("items", "named"),
    [
        ([item("service", -40), item("mot", 3)], "service"),
        ([item("service", 2), item("mot", 3)], "mot"),
        ([item("service", 20, booked_in=2), item("mot", 200)], "service"),
        ([item("mot", 0)], "mot"),
        ([item("mot", 30)], "mot"),
    ],
)
def test_the_most_pressing_item_is_named(items: list[DueStatus], named: str) -> None:
    found = verdict_of(items, [], NOTHING_WRONG._replace(defects=(SCRATCH,)))
    assert (found.verdict, [status.kind for status in found.items]) == (Verdict.DUE, [named])


def test_a_defect_to_keep_an_eye_on_is_something_against_it() -> None:
    found = verdict_of([item("mot", 31)], [], NOTHING_WRONG._replace(defects=(SCRATCH,)))
    assert (found.verdict, found.defects) == (Verdict.DUE, (SCRATCH,))


def test_nothing_is_said_against_it_only_if_all_is_later() -> None:
    items = [item("mot", 31), item("insurance", 300)]
    assert {status.state for status in items} == {State.LATER}
    assert verdict_of(items, [], NOTHING_WRONG).verdict is Verdict.NOTHING_AGAINST
    assert verdict_of([], [], NOTHING_WRONG).verdict is Verdict.NOTHING_AGAINST
