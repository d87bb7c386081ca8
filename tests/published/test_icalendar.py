"""The calendar feed against what RFC 5545 and RFC 7986 say.

Status of each: V read in the text, C worked out from the stated rule, FROM MEMORY.
"""

from collections import defaultdict
from dataclasses import replace
from datetime import UTC, date, datetime

import icalendar
import pytest
import vobject

from fleet.icalendar_feed import icalendar_of
from fleet.models import Car, DueItem
from fleet.queries import DueReport, Revision, due_report
from tests.factories import CarFactory, DueItemFactory

pytestmark = pytest.mark.django_db

ON = date(2026, 3, 16)
CHANGED = Revision(2, datetime(2026, 3, 2, 9, 30, tzinfo=UTC))


def calendar_of(due_on: date, *, kind: str = "mot", note: str = "") -> bytes:
    """The calendar of the keeper's car with one due item."""
    car = Car.objects.filter(registration="QA51ABC").first()
    car = car or CarFactory.create(registration="QA51ABC", keeper__name="Wren Applegarth")
    DueItem.objects.filter(car=car).delete()
    DueItemFactory(car=car, kind=kind, due_on=due_on, note=note)
    [due] = due_report(ON, cars=[car]).cars
    alone = replace(due, items=tuple(line for line in due.items if line.item_id))
    return icalendar_of(DueReport(ON, (alone,), ()), defaultdict(lambda: CHANGED))


def lines_of(content: bytes) -> list[bytes]:
    """As they are sent, folded."""
    return content.split(b"\r\n")


def unfolded(content: bytes) -> list[str]:
    return content.replace(b"\r\n ", b"").decode().split("\r\n")


@pytest.mark.parametrize(
    ("due_on", "start", "end"),
    [
        # I17-E1, C: the end is the first day not included (RFC 5545 3.6.1, V).
        (date(2027, 3, 31), "DTSTART;VALUE=DATE:20270331", "DTEND;VALUE=DATE:20270401"),
        # I17-E2, C.
        (date(2026, 12, 31), "DTSTART;VALUE=DATE:20261231", "DTEND;VALUE=DATE:20270101"),
    ],
)
def test_a_whole_day(due_on: date, start: str, end: str) -> None:
    lines = unfolded(calendar_of(due_on))
    assert start in lines
    assert end in lines
    assert not any("TZID" in line for line in lines)  # I17-9, 3.2.19: not on a DATE


def test_no_line_is_longer_than_75_octets() -> None:
    # I17-E3, C, and I17-4, 3.1, V: 88 octets take two lines. 75 is the most a line may have; icalendar folds one
    # octet earlier, which the rule leaves open.
    content = calendar_of(date(2027, 3, 31), kind="other", note="A" * 80)
    first = next(line for line in lines_of(content) if line.startswith(b"SUMMARY:"))
    second = lines_of(content)[lines_of(content).index(first) + 1]
    assert 74 <= len(first) <= 75
    assert second.startswith(b" ")
    assert (first + second[1:]).startswith(b"SUMMARY:" + b"A" * 80)
    assert max(map(len, lines_of(content))) <= 75


def test_folding_counts_octets_and_splits_no_character() -> None:
    # I17-4, 3.1: octets V; that no character is split FROM MEMORY.
    content = calendar_of(date(2027, 3, 31), kind="other", note="Ł🚗" * 60)
    assert max(map(len, lines_of(content))) <= 75
    for line in lines_of(content):
        line.decode()


def test_text_is_escaped() -> None:
    # I17-E4, C from 3.3.11, V; a colon is not escaped.
    lines = unfolded(calendar_of(date(2027, 3, 31), kind="other", note=r"MOT; brakes, tyres\ok"))
    assert r"SUMMARY:MOT\; brakes\, tyres\\ok: QA51 ABC" in lines


def test_the_same_reminder_keeps_its_uid_when_its_day_moves() -> None:
    # I17-E5 and I17-2, 3.8.4.7, V; no personal data in it: RFC 7986, FROM MEMORY.
    [first], [second] = (
        [line for line in unfolded(calendar_of(day)) if line.startswith("UID:")]
        for day in (date(2027, 3, 31), date(2027, 4, 2))
    )
    assert first == second
    assert not any(word in first for word in ("QA51", "Wren", "keeper"))
    other = next(line for line in unfolded(calendar_of(date(2027, 3, 31), kind="insurance")) if line.startswith("UID:"))
    assert other != first


def test_what_must_be_there_is_there() -> None:
    # I17-3, 3.6.1 V, 3.7 FROM MEMORY; I17-6, TRANSP, V; I17-8, FROM MEMORY.
    lines = unfolded(calendar_of(date(2027, 3, 31)))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-2:] == ["END:VCALENDAR", ""]
    assert "VERSION:2.0" in lines
    assert any(line.startswith("PRODID:-//") for line in lines)
    assert "DTSTAMP:20260302T093000Z" in lines
    assert "LAST-MODIFIED:20260302T093000Z" in lines
    assert "SEQUENCE:1" in lines
    assert "TRANSP:TRANSPARENT" in lines


def test_two_readers_that_are_not_ours_agree() -> None:
    content = calendar_of(date(2027, 3, 31))
    [event] = icalendar.Calendar.from_ical(content).events
    other = vobject.readOne(content.decode())
    assert other.validate(raiseException=True)
    assert event["dtstart"].dt == other.vevent.dtstart.value == date(2027, 3, 31)
    assert str(event["summary"]) == other.vevent.summary.value == "MOT: QA51 ABC"
