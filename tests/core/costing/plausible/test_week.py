"""What is asked about lessons: how many, how long, private miles, and what is in the book of their days."""

from datetime import date, timedelta
from typing import Any

import pytest

from costing.core.plausible import week
from costing.core.plausible.logged import is_only_private
from costing.core.plausible.running import Running
from costing.core.records import Teaching
from fleet.core.odometer import Reading
from fleet.core.plausible.doubt import Doubt

TODAY = date(2026, 11, 26)
LAST = date(2026, 11, 15)
LESSONS = [Teaching(LAST - timedelta(days=n), LAST - timedelta(days=n), 5, 375, None) for n in range(40) if n % 7]
READINGS = [Reading(LAST - timedelta(days=2 * n), 41_518 - 90 * n) for n in range(30)]


def known(readings: list[Reading] = READINGS, lessons: list[Teaching] = LESSONS) -> Running:
    return Running("petrol", TODAY, lessons=sorted(lessons), readings=readings)


def of_week(*lessons: int | None, monday: str = "2026-11-16", **changes: Any) -> dict[str, Any]:
    given = [*lessons, *[None] * 7][:7]
    return {
        "from_on": monday,
        "to_on": (date.fromisoformat(monday) + timedelta(days=6)).isoformat(),
        **{f"day_{number}": count for number, count in enumerate(given)},
        "hours": 75 * sum(count or 0 for count in given),
        "private_miles": 40,
        "how": "",
    } | changes


def record(**changes: Any) -> dict[str, Any]:
    told = {"from_on": "2026-11-16", "to_on": "2026-11-22", "lesson_count": 26, "minutes": 1_950, "private_miles": 40}
    return told | changes


def asked(entry: dict[str, Any], book: Running | None = None) -> list[Doubt]:
    return (book or known()).doubts("week" if "how" in entry else "lessons", entry)


def taps(found: list[Doubt]) -> list[dict[str, str]]:
    return [{one.field: one.value for one in meaning.changes} for doubt in found for meaning in doubt.meanings]


def reasons(found: list[Doubt]) -> list[str]:
    return [doubt.reason for doubt in found]


@pytest.mark.parametrize(
    "entry",
    [
        of_week(6, 5, 6, 0, 6, 3, 0),
        of_week(9, 5, 6, 0, 6, 3, 0),
        of_week(10, 5, 6, 0, 6, 3, 0, hours=1_800),
        of_week(0, 0, 0, 0, 0, 0, 0),
        of_week(6, hours=None),
        record(),
        record(lesson_count=None),
        record(minutes=None),
        record(private_miles=None),
    ],
)
def test_the_ordinary_is_not_asked(entry: dict[str, Any]) -> None:
    assert asked(entry) == []


@pytest.mark.parametrize(
    ("entry", "reason", "right"),
    [
        (of_week(66, 5, 6, 0, 6, 3, 0, hours=1_950), "lessons_day", {"day_0": "6"}),
        (of_week(6, 5, 6, 0, 6, 3, 0, hours=195), "lesson_length", {"hours": "32.5"}),
        (of_week(6, 5, 6, 0, 6, 3, 0, hours=19_500), "hours_span", {"hours": "32.5"}),
        (record(minutes=195), "lesson_length", {"minutes": "32.5"}),
        (record(lesson_count=260), "lessons_span", {"lesson_count": "26"}),
        (record(lesson_count=32, minutes=1_560), "lesson_length", {"lesson_count": "26", "minutes": "32"}),
        (record(to_on="2026-11-16", lesson_count=5, minutes=3_750), "hours_day", {"minutes": "6.25"}),
        (
            record(from_on="2025-11-16", to_on="2025-11-22"),
            "day_back",
            {"from_on": "2026-11-16", "to_on": "2026-11-22"},
        ),
    ],
)
def test_a_slip_is_asked_with_what_is_meant(entry: dict[str, Any], reason: str, right: dict[str, str]) -> None:
    found = asked(entry)
    assert reason in reasons(found)
    assert right in taps(found)


def test_the_same_week_again_is_added_replaced_or_left_out() -> None:
    again = of_week(5, 5, 5, 5, 5, 5, monday="2026-11-09", private_miles=None)
    (doubt,) = asked(again)
    assert (doubt.field, doubt.reason, doubt.may_be_right) == ("how", "week_taken", False)
    assert doubt.figures["lessons"] == 30
    assert taps([doubt]) == [{"how": "replace"}, {"leave_out": "on"}, {"how": "add"}]
    assert asked(again | {"how": "replace"}) == []
    assert asked(again | {"leave_out": "on"}) == []
    (other,) = asked(of_week(3, 5, 5, 5, 5, 5, monday="2026-11-09"))
    assert taps([other]) == [{"how": "replace"}, {"how": "add"}]
    # One day more in a record of several days: it was forgotten there, and the others are not to be lost.
    days = Teaching(date(2026, 11, 9), date(2026, 11, 12), 12, 720, None)
    (beyond,) = asked(of_week(2, monday="2026-11-09"), known(lessons=[days]))
    # Nor can they be replaced from here.
    assert (beyond.reason, beyond.figures["since"]) == ("week_beyond", "2026-11-09")
    assert taps([beyond]) == [{"how": "add"}]


def test_the_private_miles_of_a_week_in_the_book_are_no_second_week() -> None:
    logged = of_week(5, 5, 5, 5, 5, 5, monday="2026-11-09", hours=None, private_miles=30)
    assert asked(logged) == []
    assert is_only_private(logged, known().limits("week"))
    assert asked(logged | {"hours": 2_250}) == []
    for other in ({"hours": 2_000}, {"day_2": 4}, {"day_6": 1}, {"private_miles": None}):
        assert reasons(asked(logged | other)) == ["week_taken"]
    # One of them alone is as good, and miles that can hardly be are asked about all the same.
    assert asked(of_week(None, 5, monday="2026-11-09", hours=None, private_miles=30)) == []
    assert reasons(asked(logged | {"private_miles": 4_000})) == ["private_far", "private_much"]
    with_miles = [one._replace(private_miles=5) for one in LESSONS]
    assert reasons(asked(logged, known(lessons=with_miles))) == ["week_taken"], "the same miles too: nothing is new"
    assert asked(logged | {"private_miles": 35}, known(lessons=with_miles)) == []


def test_the_lessons_of_a_longer_record_are_not_known_day_by_day() -> None:
    span = Teaching(date(2026, 11, 9), date(2026, 11, 10), 10, 600, None)
    logged = of_week(5, 5, monday="2026-11-09", hours=None)
    assert reasons(asked(logged, known(lessons=[span]))) == ["week_taken"]
    none = span._replace(lessons=0, minutes=0)
    assert asked(logged | {"day_0": 0, "day_1": 0}, known(lessons=[none])) == []


def test_a_day_is_held_against_what_is_in_the_book_of_it() -> None:
    more = of_week(5, monday="2026-11-09", how="add", hours=None)
    (doubt,) = asked(more)
    assert (doubt.field, doubt.reason, doubt.figures["minutes"]) == ("day_0", "hours_day_sum", 750)
    assert taps([doubt])[0] == {"how": "replace"}
    assert doubt.may_be_right
    assert reasons(asked(of_week(10, monday="2026-11-09", how="add", hours=60 * 6))) == [
        *("lessons_day_sum", "hours_day_sum", "lesson_length")
    ]
    assert reasons(asked(of_week(10, hours=None))) == ["hours_day"]
    # Whoever has taught so long on a day before is not asked again.
    long_day = Teaching(date(2026, 11, 1), date(2026, 11, 1), 10, 760, None)
    assert asked(of_week(10, hours=None), known(lessons=[*LESSONS, long_day])) == []
    found = asked(record(from_on="2026-11-09", to_on="2026-11-09", lesson_count=5, minutes=400))
    assert reasons(found) == ["days_taken", "hours_day_sum"]


def test_a_week_in_the_book_with_another_fault_is_still_replaced_or_added_to() -> None:
    found = {
        doubt.reason: doubt for doubt in asked(of_week(4, 5, 5, 5, 5, 5, monday="2026-11-09", private_miles=9_000))
    }
    taken, far = found["week_taken"], found["private_far"]
    assert (taken.field, far.field) == ("how", "private_miles")
    assert {"how": "replace"} in taps([taken])
    assert {"how": "add"} in taps([taken])
    assert {"private_miles": "90"} in taps([far])


def test_none_on_days_that_had_none_is_not_asked() -> None:
    none = [Teaching(LAST - timedelta(days=n), LAST - timedelta(days=n), 0, 0, None) for n in range(7)]
    assert asked(of_week(0, 0, 0, monday="2026-11-09"), known(lessons=none)) == []
    assert reasons(asked(of_week(5, 0, 0, monday="2026-11-09"), known(lessons=none))) == ["week_taken"]


def test_a_record_of_days_that_have_lessons_may_be_of_another_week() -> None:
    (doubt,) = asked(record(from_on="2026-11-09", to_on="2026-11-15", lesson_count=30, minutes=2_250))
    assert (doubt.reason, doubt.may_be_right) == ("days_taken", True)
    assert {"leave_out": "on"} in taps([doubt])
    assert {"from_on": "2026-11-16", "to_on": "2026-11-22"} in taps([doubt])
    assert asked(record(from_on="2026-11-09", to_on="2026-11-15", lesson_count=0, minutes=0)) == []


def test_private_miles_are_held_against_the_miles_the_car_ran() -> None:
    found = asked(of_week(2, monday="2026-11-09", how="add", private_miles=4_000))
    assert reasons(found) == ["private_far", "private_much"]
    assert {"private_miles": "400"} in taps(found)
    assert reasons(asked(of_week(5, private_miles=4_000))) == ["private_far"], "nothing has been read since"


def test_private_miles_are_held_against_those_of_the_weeks_before() -> None:
    weeks = [
        Teaching(date(2026, 10, 5) + timedelta(days=7 * n), date(2026, 10, 11) + timedelta(days=7 * n), 20, 1_500, 56)
        for n in range(5)
    ]
    found = asked(of_week(5, private_miles=560), known(lessons=weeks))
    assert reasons(found) == ["private_far"]
    assert {"private_miles": "56"} in taps(found)
    assert asked(of_week(5, private_miles=300), known(lessons=weeks)) == []


def test_lessons_and_hours_of_one_day_may_be_swapped() -> None:
    found = asked(of_week(9, hours=360))
    assert reasons(found) == ["lesson_length"]
    assert {"day_0": "6", "hours": "9"} in taps(found)


def test_the_hours_of_one_day_for_a_week_are_those_of_all_its_lessons() -> None:
    found = asked(of_week(6, 5, 6, 0, 6, 3, 0, hours=375))
    assert {"hours": "32.5"} in taps(found)


def test_an_hour_is_usual_whatever_one_teaches_mostly() -> None:
    assert asked(of_week(5, hours=300)) == []


def test_lessons_while_the_car_stood_still_are_asked() -> None:
    still = [Reading(date(2026, 11, 8), 41_500), Reading(date(2026, 11, 16), 41_500)]
    (doubt,) = asked(of_week(2, 2, 2, monday="2026-11-09", how="add"), known(still))
    assert doubt.reason == "stood_still"


def test_values_are_written_as_one_types_them() -> None:
    assert [week.written("hours", minutes) for minutes in (1_950, 360, 440)] == ["32.5", "6", "7:20"]
    assert week.written("day_0", None) == ""
    assert week.written("lesson_count", 26) == "26"


def test_a_week_becomes_a_record_a_day() -> None:
    book = known(lessons=[])
    book.add("week", of_week(5, None, 5))
    book.add("week", of_week(None, 4, hours=None))
    book.add("lessons", record(from_on="2026-11-01", to_on="2026-11-01", lesson_count=2, minutes=120))
    assert [one[:3] for one in book.limits("week")["days"]] == [
        ["2026-11-01", "2026-11-01", 2],
        ["2026-11-16", "2026-11-16", 5],
        ["2026-11-17", "2026-11-17", 4],
        ["2026-11-18", "2026-11-18", 5],
    ]


def test_hours_without_lessons_are_not_put_right_by_lessons() -> None:
    assert taps(asked(of_week(0, 0, private_miles=4_000, hours=300))) == [
        {"private_miles": "40"},
        {"private_miles": "400"},
    ]
