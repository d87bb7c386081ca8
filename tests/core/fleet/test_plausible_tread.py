"""Whether a tyre can have the tread that was typed, and what may be meant."""

from datetime import date
from decimal import Decimal

import pytest

from fleet.core.odometer import Odometer, Reading
from fleet.core.plausible import tread
from fleet.core.plausible.doubt import Doubt, Limits
from fleet.core.tread import Depth, Move

READ, NOW = date(2026, 3, 10), date(2026, 3, 16)
EVEN = [Depth("front_left", READ, *[Decimal("5.4")] * 3)]
UNEVEN = [Depth("front_left", READ, Decimal("5.4"), Decimal("5.0"), Decimal("4.6"))]
ODOMETER = Odometer([Reading(date(2026, 1, 1), 40_000), Reading(READ, 47_000)])


def limits(depths: list[Depth] = EVEN, moves: list[Move] | None = None, odometer: Odometer = ODOMETER) -> Limits:
    return tread.limits(depths, moves or [], odometer, NOW, 47_600)


def doubts(known: Limits, *depths: int) -> list[Doubt]:
    return tread.doubts(
        "front_left", dict(zip((f"front_left_{part}" for part in tread.ACROSS), depths, strict=False)), known
    )


def told(known: Limits, *depths: int) -> dict[str, list[str]]:
    return {
        doubt.reason: [" ".join(change.value for change in meaning.changes) for meaning in doubt.meanings]
        for doubt in doubts(known, *depths)
    }


@pytest.mark.parametrize("depths", [(53,), (54,), (57,), (48,), (53, 60, 55)])
def test_what_wears_as_tyres_do_is_plausible(depths: tuple[int, ...]) -> None:
    assert told(limits(), *depths) == {}


def test_a_point_left_out_is_put_back_and_cannot_be_right() -> None:
    found = doubts(limits(), 540)
    assert {doubt.reason for doubt in found} >= {"tread_impossible"}
    assert not found[0].may_be_right
    assert "5.4" in told(limits(), 540)["tread_impossible"]
    assert "5.4 5.3 5.2" in told(limits(), 540, 530, 520)["tread_impossible"]


def test_tread_does_not_grow() -> None:
    assert set(told(limits(), 78)) == {"tread_grows"}
    assert set(told(limits(UNEVEN), 54, 58, 46)) == {"tread_grows"}


def test_tread_falls_only_so_far_in_so_many_miles() -> None:
    (doubt,) = doubts(limits(), 9)
    assert (doubt.reason, doubt.figures["worn"], doubt.figures["miles"]) == ("tread_falls", 4_500, 600)
    assert doubt.meanings


def test_a_tyre_that_nobody_read_is_asked_about_by_itself() -> None:
    assert set(told({}, 5)) == {"tread_bald"}
    assert set(told({}, 52, 5, 54)) == {"tread_across", "tread_bald"}
    assert set(told({}, 120)) == {"tread_deep"}
    assert told({}, 12) == {}


def test_new_tyres_begin_anew() -> None:
    assert told(limits(moves=[Move("front_left", date(2026, 3, 12))]), 80) == {}


@pytest.mark.parametrize(
    ("odometer", "miles", "since"),
    [
        (ODOMETER, 47_600, 600),
        (ODOMETER, 46_000, 0),
        (ODOMETER, None, 1_235),
        (Odometer([Reading(READ, 47_000), Reading(date(2026, 3, 20), 48_000)]), None, 600),
        (Odometer([]), None, 900),
    ],
)
def test_the_miles_since_are_read_or_taken_from_the_pace(odometer: Odometer, miles: int | None, since: int) -> None:
    assert tread.limits(EVEN, [], odometer, NOW, miles)["front_left"]["miles"] == since
