"""What is asked about a fill: its price, quantity, economy, day, and whether it is in the book already."""

from datetime import date, timedelta
from typing import Any

import pytest

from costing.core.plausible import fill
from costing.core.plausible.running import Running
from costing.core.records import Fill
from fleet.core.odometer import Reading
from fleet.core.plausible.doubt import Doubt

TODAY = date(2026, 11, 26)
#: Every four days 36.28 litres at 142.9p and 360 miles, the last time on 23 November at 41,518 miles.
FILLS = [
    Fill(date(2026, 11, 23) - timedelta(days=4 * n), 41_518 - 360 * n, 36_280, "litre", 5_184, True, False)
    for n in range(20)
]
CHARGES = [
    Fill(
        date(2026, 11, 23) - timedelta(days=4 * n),
        41_518 - 130 * n,
        40_000,
        "kwh",
        3_160 if n % 4 == 3 else 280,
        True,
        False,
    )
    for n in range(20)
]


def known(fills: list[Fill] = FILLS, fuel: str = "petrol") -> Running:
    return Running(
        fuel, TODAY, fills=sorted(fills, key=lambda one: one.filled_on), readings=[Reading(date(2026, 8, 1), 30_000)]
    )


def typed(**changes: Any) -> dict[str, Any]:
    return {
        "filled_on": "2026-11-26",
        "odometer": 41_870,
        "amount": 5_190,
        "quantity": 36_200,
        "unit": "litre",
        "brimmed": "on",
        "gap_before": "",
    } | changes


def charge(**changes: Any) -> dict[str, Any]:
    return typed(odometer=41_640, amount=280, quantity=40_000, unit="kwh") | changes


def asked(entry: dict[str, Any], book: Running | None = None) -> list[Doubt]:
    return (book or known()).doubts("fill", entry)


def taps(found: list[Doubt]) -> list[dict[str, str]]:
    return [{one.field: one.value for one in meaning.changes} for doubt in found for meaning in doubt.meanings]


def reasons(found: list[Doubt]) -> list[str]:
    return [doubt.reason for doubt in found]


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"amount": 5_600},  # dearer, on a motorway
        {"amount": 1_429, "quantity": 10_000, "odometer": 41_600, "brimmed": ""},  # a top-up
        {"odometer": 41_790},  # winter
        {"filled_on": "2026-11-25"},
    ],
)
def test_the_ordinary_is_not_asked(changes: dict[str, Any]) -> None:
    assert asked(typed(**changes)) == []


def test_pounds_and_litres_swapped_are_swapped_back() -> None:
    found = asked(typed(amount=3_620, quantity=51_900))
    assert found[0].reason == "price_litre"
    assert found[0].meanings[0].name == "swap_litre"
    assert taps(found)[0] == {"amount": "51.90", "quantity": "36.2"}


@pytest.mark.parametrize(
    ("changes", "right"),
    [
        ({"amount": 519_000}, {"amount": "51.90"}),
        ({"amount": 51_900}, {"amount": "51.90"}),
        ({"amount": 519}, {"amount": "51.90"}),
        ({"quantity": 362_000}, {"quantity": "36.2"}),
        ({"quantity": 3_620}, {"quantity": "36.2"}),
        ({"quantity": 63_200}, {"quantity": "36.2"}),
        ({"odometer": 418_700}, {"odometer": "41870"}),
        ({"filled_on": "2025-11-26"}, {"filled_on": "2026-11-26"}),
    ],
)
def test_a_slip_is_asked_with_what_is_meant(changes: dict[str, Any], right: dict[str, str]) -> None:
    assert right in taps(asked(typed(**changes)))


def test_all_doubts_of_one_slip_stand_at_one_field_so_that_one_answer_is_enough() -> None:
    found = asked(typed(quantity=362_000))
    assert len(found) > 1
    assert {doubt.field for doubt in found} == {"quantity"}


@pytest.mark.parametrize(
    "changes", [{"amount": 518_400}, {"amount": 518}, {"quantity": 362_000}, {"amount": 3_620, "quantity": 51_900}]
)
def test_without_any_history_physics_speaks(changes: dict[str, Any]) -> None:
    book = Running("petrol", TODAY)
    assert asked(typed(), book) == []
    found = asked(typed(**changes), book)
    assert found[0].reason == "price_litre_new"
    assert taps(found)


def test_a_nought_too_many_at_the_end_is_meant_before_one_within() -> None:
    found = taps(asked(typed(odometer=418_070)))
    assert found[:2] == [{"odometer": "41807"}, {"odometer": "41870"}]


def test_nothing_paid_for_a_charge_is_asked_with_the_prices_of_late_unless_it_was_so_before() -> None:
    found = asked(charge(amount=0), known(CHARGES, "electric"))
    assert reasons(found) == ["nothing_paid_kwh"]
    assert {"amount": "2.80"} in taps(found)
    # With few charges in the book, too, the price of the last stands before the middle of all prices there are.
    few = [one._replace(pence=1_236) for one in CHARGES[:2]]
    assert taps(asked(charge(amount=0), known(few, "electric")))[0] == {"amount": "12.36"}
    free = [one._replace(pence=0) for one in CHARGES[:6]]
    assert asked(charge(amount=0), known(free, "electric")) == []


@pytest.mark.parametrize("amount", [280, 3_160, 2_000])
def test_charging_at_home_and_out_and_at_a_new_price_is_ordinary(amount: int) -> None:
    assert asked(charge(amount=amount), known(CHARGES, "electric")) == []


def test_a_charge_at_ten_times_a_usual_price_is_asked() -> None:
    found = asked(charge(amount=2_800), known(CHARGES, "electric"))
    assert reasons(found) == ["price_kwh"]
    assert {"amount": "2.80"} in taps(found)


def test_too_few_and_too_many_miles_for_the_fuel() -> None:
    assert "few_litre" in reasons(asked(typed(odometer=41_560)))
    found = asked(typed(odometer=42_300))
    assert "many_litre" in reasons(found)
    assert {"gap_before": "on"} in taps(found)
    assert asked(typed(odometer=42_300, gap_before="on", filled_on="2026-11-26")) == []
    assert {"brimmed": ""} in taps(asked(typed(odometer=41_870, quantity=10_000, amount=1_430)))


def test_a_plug_in_hybrid_runs_any_miles_on_its_other_source() -> None:
    assert asked(typed(odometer=42_300), known(FILLS, "plugin_hybrid")) == []


def test_partial_fills_count_towards_the_next_brim() -> None:
    part = Fill(date(2026, 11, 25), 41_700, 15_000, "litre", 2_140, False, False)
    assert asked(typed(quantity=21_000, amount=3_010), known([*FILLS, part])) == []


def test_an_earlier_day_is_held_against_no_brim() -> None:
    assert asked(typed(filled_on="2026-11-21", odometer=41_300)) == []


def test_more_than_the_tank_has_ever_taken() -> None:
    found = asked(typed(quantity=95_000, amount=13_580, brimmed=""))
    assert "much_litre" in reasons(found)


def test_a_missing_brim_and_a_gap_leave_economy_out() -> None:
    gaps = [one._replace(brimmed=False, gap_before=True) for one in FILLS]
    assert asked(typed(odometer=42_400), known(gaps)) == []


def test_the_same_fill_again_may_be_left_out() -> None:
    again = typed(filled_on="2026-11-23", odometer=41_518, amount=5_184, quantity=36_280)
    found = asked(again)
    assert "same_fill" in reasons(found)
    assert taps(found)[0] == {"leave_out": "on"}
    assert asked(again | {"leave_out": "on"}) == []
    two_at_one_stop = again | {"odometer": 41_700, "filled_on": "2026-11-23"}
    assert "same_fill" not in reasons(asked(two_at_one_stop))


def test_a_day_in_another_year_or_long_ago_is_asked() -> None:
    assert reasons(asked(typed(filled_on="2019-11-26"), Running("petrol", TODAY))) == ["day_old"]
    found = asked(typed(filled_on="2026-08-26", odometer=31_000))
    assert found[0].reason == "day_back"
    assert {"filled_on": "2026-11-26"} in taps(asked(typed(filled_on="2026-01-26")))


def test_when_two_things_are_wrong_each_has_what_settles_it() -> None:
    found = asked(typed(odometer=418_700, amount=519_000))
    assert {doubt.reason for doubt in found} >= {"odometer_far", "price_litre"}
    assert {"odometer": "41870"} in taps(found)
    assert {"amount": "51.90"} in taps(found)


def test_values_are_written_as_one_types_them() -> None:
    assert fill.written("amount", 5_190) == "51.90"
    assert fill.written("amount", 5_000) == "50"
    assert fill.written("quantity", 36_280) == "36.28"
    assert fill.written("brimmed", None) == ""
    assert fill.written("brimmed", "on") == "on"


def test_a_day_that_has_not_come_is_refused_with_the_last_day_of_that_name() -> None:
    (doubt,) = asked(typed(filled_on="2027-11-26"))
    assert (doubt.reason, doubt.may_be_right) == ("day_ahead", False)
    assert {"filled_on": "2026-11-26"} in taps([doubt])


def test_the_first_fill_of_all_of_another_year_is_asked() -> None:
    limits = Running("petrol", TODAY).limits("fill") | {"first": "2026-05-10"}
    (doubt,) = fill.doubts(typed(filled_on="2025-11-26"), limits)
    assert doubt.reason == "day_first"
    assert {"filled_on": "2026-11-26"} in taps([doubt])


def test_a_day_far_back_that_is_near_today_if_turned_is_asked() -> None:
    book = known([one._replace(filled_on=date(2026, 11, 7)) for one in FILLS[:1]])
    book.today = date(2026, 11, 10)
    assert {"filled_on": "2026-11-10"} in taps(asked(typed(filled_on="2026-10-11"), book))


def test_less_on_the_day_of_the_only_reading_is_refused() -> None:
    book = Running("petrol", TODAY, readings=[Reading(TODAY, 52_403)])
    (doubt,) = asked(typed(odometer=5_203), book)
    assert (doubt.reason, doubt.may_be_right) == ("odometer_day", False)
    assert asked(typed(odometer=52_300), book) == []
    assert {"odometer": "52601"} in taps(asked(typed(odometer=198), book))


def test_a_charge_told_as_litres_is_asked_with_its_unit() -> None:
    found = asked(typed(amount=289, quantity=11_800, brimmed=""), known(FILLS, "plugin_hybrid"))
    assert {"unit": "kwh"} in taps(found)


def test_a_part_fill_is_not_offered_as_one() -> None:
    found = asked(typed(quantity=100_000, amount=14_290, brimmed="", gap_before="on"))
    assert reasons(found) == ["much_litre"]
    assert {"brimmed": ""} not in taps(found)


def test_a_reading_taken_in_counts_at_once() -> None:
    book = known()
    assert asked(typed(), book) == []
    book.read(Reading(date(2026, 11, 25), 41_900))
    assert reasons(asked(typed(), book)) == ["odometer_low"]
