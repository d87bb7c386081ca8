"""What is asked about takings: a nought too many, by hours taught and by other weeks; nothing of what is ordinary."""

from datetime import date, timedelta

import pytest

from costing.planning.core.plausible import doubts, limits
from fleet.core.plausible.doubt import Change, Doubt

MONDAY = date(2027, 3, 1)
WEEKS = [MONDAY - timedelta(days=7 * number) for number in range(1, 11)]
TAKEN = {monday: 80_000 + 1_000 * number for number, monday in enumerate(WEEKS)}
TAUGHT = dict.fromkeys([MONDAY, *WEEKS], 24 * 60)


def asked(amount: int, count: int | None = None, minutes: int | None = None, **known: object) -> list[Doubt]:
    told = {"amount": amount, "cancelled_count": count, "cancelled_minutes": minutes}
    taken, taught = known.get("taken", TAKEN), known.get("taught", TAUGHT)
    return doubts(told, limits(taken, taught, MONDAY))  # type: ignore[arg-type]


def meant(found: list[Doubt]) -> list[tuple[Change, ...]]:
    return [meaning.changes for meaning in found[0].meanings]


@pytest.mark.parametrize("amount", [40_000, 84_000, 120_000])
def test_an_ordinary_week_is_not_asked_about(amount: int) -> None:
    assert asked(amount, 3, 180) == []


def test_a_nought_too_many_is_asked_about_by_the_hour() -> None:
    found = asked(840_000)
    assert [doubt.reason for doubt in found] == ["takings_hour"]
    assert found[0].figures == {"amount": 840_000, "minutes": 1_440, "each": 35_000, "usual": 3_520}
    assert meant(found)[0] == (Change("amount", "840"),)


def test_a_nought_too_few_is_asked_about_too() -> None:
    found = asked(8_400)
    assert [doubt.reason for doubt in found] == ["takings_hour"]
    assert meant(found)[0] == (Change("amount", "840"),)


def test_a_week_without_lessons_is_held_against_other_weeks() -> None:
    without = {monday: TAUGHT[monday] for monday in WEEKS}
    assert asked(0, taught=without) == []
    found = asked(840_000, taught=without)
    assert [doubt.reason for doubt in found] == ["takings_week"]
    assert meant(found)[0] == (Change("amount", "840"),)


def test_the_first_weeks_are_held_against_what_lessons_cost_anybody() -> None:
    assert asked(84_000, taken={}) == []
    assert [doubt.reason for doubt in asked(840_000, taken={})] == ["takings_hour_new"]
    assert [doubt.reason for doubt in asked(840_000, taken={}, taught={})] == ["takings_week_new"]
    assert asked(84_000, taken={}, taught={}) == []


def test_the_week_itself_is_no_measure_of_itself() -> None:
    many = {MONDAY: 840_000, **TAKEN}
    assert [doubt.reason for doubt in asked(840_000, taken=many)] == ["takings_hour"]


def test_weeks_without_hours_in_the_book_say_nothing_of_an_hour() -> None:
    assert [doubt.reason for doubt in asked(840_000, taught={MONDAY: 24 * 60})] == ["takings_hour_new"]


def test_a_great_many_cancelled_lessons_are_asked_about() -> None:
    found = asked(84_000, 120, 5_000)
    assert {doubt.reason for doubt in found} == {"cancelled_many", "cancelled_long"}
    found = asked(84_000, 120)
    assert found[0].key == "cancelled_many:120"
    assert (Change("cancelled_count", "12"),) in meant(found)
    assert asked(84_000, None, 5_000)[0].key == "cancelled_long:83:20"


@pytest.mark.parametrize(("count", "minutes"), [(3, 60), (1, 20), (2, 480), (1, 240), (None, 60), (3, None), (0, 60)])
def test_ordinary_lessons_were_cancelled(count: int | None, minutes: int | None) -> None:
    assert asked(84_000, count, minutes) == []


def test_cancelled_lessons_are_held_against_their_hours() -> None:
    found = asked(84_000, 40, 120)
    assert [doubt.reason for doubt in found] == ["cancelled_length"]
    assert found[0].figures == {"lessons": 40, "minutes": 120, "each": 3}
    found = asked(84_000, 2, 1_800)
    assert [doubt.reason for doubt in found] == ["cancelled_length"]
    assert (Change("cancelled_count", "20"),) in meant(found)


def test_minutes_typed_for_the_hours_of_cancelled_lessons_are_meant_as_minutes() -> None:
    found = asked(84_000, 3, 90 * 60)
    assert [doubt.reason for doubt in found] == ["cancelled_long", "cancelled_length"]
    assert {doubt.field for doubt in found} == {"cancelled_minutes"}
    assert meant(found)[0] == (Change("cancelled_minutes", "1.5"),)
    assert meant(asked(84_000, 1, 45 * 60))[0] == (Change("cancelled_minutes", "0.75"),)
    # So much is hardly meant as minutes.
    assert (Change("cancelled_minutes", "5"),) not in meant(asked(84_000, 1, 5 * 60))


def test_hours_typed_for_pounds_are_no_sum_with_digits_before_it() -> None:
    found = asked(32_50)
    assert [doubt.reason for doubt in found] == ["takings_hour"]
    assert not [change for changes in meant(found) for change in changes if change.value.endswith("32.5")]
    # Where no slip leads to what is usual, nothing is offered.
    assert meant(asked(1_20)) == []
