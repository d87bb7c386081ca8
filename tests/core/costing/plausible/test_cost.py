"""What is asked about a cost: its sum, its day, its cover, what it refunds, and whether it is in the book already."""

from datetime import date, timedelta
from typing import Any

import pytest

from config.asking import fill
from costing.core.plausible import cost
from costing.core.plausible.running import Running
from costing.core.records import Cost
from costing.wording.doubts import COST_DOUBTS
from fleet.core.plausible.doubt import Doubt

TODAY = date(2026, 11, 26)
COSTS = [
    *(Cost(TODAY - timedelta(days=8 * n + 3), "cleaning", 1_200 + 130 * (n % 4)) for n in range(12)),
    *(Cost(date(2026, month, 5), "finance", 28_950) for month in range(1, 12)),
    *(Cost(TODAY - timedelta(days=40 * n + 20), "repairs", 9_000 + 1_000 * n) for n in range(5)),
    Cost(date(2025, 12, 1), "insurance", 140_000, date(2025, 12, 1), date(2026, 11, 30)),
]


def known(costs: list[Cost] = COSTS) -> Running:
    return Running("petrol", TODAY, costs=sorted(costs, key=lambda one: one.paid_on))


def typed(**changes: Any) -> dict[str, Any]:
    return {
        "category": "cleaning",
        "amount": 1_590,
        "refund": "",
        "paid_on": "2026-11-26",
        "covers_from": None,
        "covers_to": None,
        "covers_miles": None,
        "in_place_of": "",
    } | changes


def policy(**changes: Any) -> dict[str, Any]:
    renewed = {"category": "insurance", "amount": 142_000, "covers_from": "2026-12-01", "covers_to": "2027-11-30"}
    return typed(**renewed) | changes


def asked(entry: dict[str, Any], book: Running | None = None) -> list[Doubt]:
    return (book or known()).doubts("cost", entry)


def taps(found: list[Doubt]) -> list[dict[str, str]]:
    return [{one.field: one.value for one in meaning.changes} for doubt in found for meaning in doubt.meanings]


def reasons(found: list[Doubt]) -> list[str]:
    return [doubt.reason for doubt in found]


@pytest.mark.parametrize(
    "entry",
    [
        typed(),
        typed(category="repairs", amount=90_000),
        typed(category="parking_tolls", amount=320),
        typed(category="mot", amount=5_485),
        typed(category="finance", amount=28_950, paid_on="2026-11-16"),
        policy(),
        typed(category="breakdown_cover", amount=6_200, covers_from="2026-11-26", covers_to="2027-11-25"),
        typed(category="insurance", amount=12_000),
        typed(category="breakdown_cover", amount=900, covers_from="2026-11-26", covers_to="2026-12-23"),
    ],
)
def test_the_ordinary_is_not_asked(entry: dict[str, Any]) -> None:
    assert asked(entry) == []


@pytest.mark.parametrize(
    ("entry", "reason", "right"),
    [
        (typed(amount=159_000), "sum", {"amount": "15.90"}),
        (typed(amount=15_900), "sum", {"amount": "15.90"}),
        (typed(category="finance", amount=2_895), "sum", {"amount": "289.50"}),
        (typed(category="mot", amount=548_500), "sum_mot", {"amount": "54.85"}),
        (typed(category="other", amount=145_000), "sum_new", {"amount": "14.50"}),
        (policy(amount=14_200), "sum_year", {"amount": "1420"}),
        (typed(paid_on="2025-11-26"), "day_back", {"paid_on": "2026-11-26"}),
    ],
)
def test_a_slip_is_asked_with_what_is_meant(entry: dict[str, Any], reason: str, right: dict[str, str]) -> None:
    found = asked(entry)
    assert reason in reasons(found)
    assert right in taps(found)


def said(found: list[Doubt]) -> list[str]:
    return [fill(COST_DOUBTS[doubt.reason], doubt.figures, TODAY) for doubt in found]


def test_a_sum_of_a_few_days_is_asked_with_these_days_because_it_is_held_against_a_year() -> None:
    a_month = {"category": "breakdown_cover", "covers_from": "2026-11-26", "covers_to": "2026-12-26"}
    year = Cost(date(2025, 11, 26), "breakdown_cover", 62_00, date(2025, 11, 26), date(2026, 11, 25))
    of_group = {"breakdown_cover": 50_00}
    usual = "A year of it usually costs you about £62."
    assert said(asked(typed(amount=62_00, **a_month), known([year]))) == [
        f"£62 for 31 days of breakdown cover? {usual}"
    ]
    assert said(asked(typed(amount=62_00, **a_month), Running("petrol", TODAY, of_group=of_group))) == [
        "£62 for 31 days of breakdown cover? In your co-op a year of it usually costs about £50."
    ]
    assert said(asked(typed(amount=62_00, **a_month), Running("petrol", TODAY))) == [
        "£62 for 31 days of breakdown cover? That is far from what it usually costs."
    ]
    # A year needs no telling, nor does what covers no days.
    for days in ({"covers_from": "2026-11-26", "covers_to": "2027-11-25"}, {}):
        found = asked(typed(category="breakdown_cover", amount=620_00, **days), known([year]))
        assert said(found) == [f"£620 for breakdown cover? {usual}"]


def test_sums_that_cover_no_days_tell_nothing_of_a_year() -> None:
    monthly = [Cost(date(2026, month, 26), "breakdown_cover", 6_20) for month in range(1, 11)]
    year = {"category": "breakdown_cover", "covers_from": "2026-11-26", "covers_to": "2027-11-25"}
    assert asked(typed(amount=62_00, **year), known(monthly)) == []


@pytest.mark.parametrize(
    ("category", "words"),
    [
        *(("other", "something else"), ("mot", "an MOT"), ("finance", "a finance instalment")),
        *(("rental", "a rental payment"), ("fit_out", "the fit-out"), ("insurance", "insurance")),
    ],
)
def test_what_a_sum_is_for_is_said_as_a_colleague_says_it(category: str, words: str) -> None:
    [question, *_] = said(asked(typed(category=category, amount=9_000_000), Running("petrol", TODAY)))
    assert f" for {words}? " in question


def test_without_any_history_the_ranges_of_the_catalogue_speak() -> None:
    found = asked(typed(amount=159_000), Running("petrol", TODAY))
    assert reasons(found) == ["sum_new"]
    assert {"amount": "15.90"} in taps(found)


def test_the_groups_median_speaks_only_where_the_member_has_no_sum_yet() -> None:
    of_group = {"insurance": 45_000}
    found = asked(policy(), Running("petrol", TODAY, of_group=of_group))
    assert [(doubt.reason, doubt.figures["usual"]) for doubt in found if doubt.field == "amount"] == [
        ("sum_group", 45_000)
    ]
    assert asked(policy(amount=120_000), Running("petrol", TODAY, of_group=of_group)) == []
    # A median rounded to £50 says nothing of what cannot be.
    assert asked(policy(), Running("petrol", TODAY, of_group={"insurance": 5_000})) == []
    own = Running("petrol", TODAY, costs=COSTS[-1:], of_group=of_group)
    assert asked(policy()) == asked(policy(), own) == []


def test_what_was_found_right_once_is_right_nearby() -> None:
    valet = Cost(date(2026, 11, 20), "cleaning", 16_000)
    assert reasons(asked(typed(amount=16_500))) == ["sum"]
    assert asked(typed(amount=16_500), known([*COSTS, valet])) == []


def test_the_same_cost_again_may_be_left_out() -> None:
    again = typed(category="finance", amount=28_950, paid_on="2026-11-06")
    found = asked(again)
    assert reasons(found) == ["same_cost"]
    assert taps(found) == [{"leave_out": "on"}]
    assert asked(again | {"leave_out": "on"}) == []
    assert asked(typed(category="cleaning", amount=1_200, paid_on="2026-11-24")) == []
    assert reasons(asked(typed(category="cleaning", amount=1_200, paid_on="2026-11-23"))) == ["same_cost"]


def test_a_refund_of_what_nobody_paid_is_asked() -> None:
    assert asked(typed(amount=1_000, refund="on")) == []
    found = asked(typed(category="tyres", amount=28_950, refund="on"))
    assert reasons(found) == ["refund_unpaid"]
    assert {"category": "finance"} in taps(found)
    assert {"refund": "", "amount": "289.50"} in taps(found)


@pytest.mark.parametrize(
    ("changes", "reason", "right"),
    [
        ({"covers_from": "2026-11-20", "covers_to": "2027-11-19"}, "cover_overlap", ("2026-12-01", "2027-11-30")),
        ({"covers_from": "2026-12-11", "covers_to": "2027-12-10"}, "cover_gap", ("2026-12-01", "2027-11-30")),
        ({"covers_to": "2028-11-30"}, "cover_length", ("2026-12-01", "2027-11-30")),
        ({"covers_from": "2025-12-01"}, "cover_overlap", ("2026-12-01", "2027-11-30")),
        ({"covers_from": "2027-12-01", "covers_to": "2028-11-30"}, "paid_before", ("2026-12-01", "2027-11-30")),
    ],
)
def test_cover_that_overlaps_or_leaves_a_gap_is_asked_with_the_days_shifted(
    changes: dict[str, Any], reason: str, right: tuple[str, str]
) -> None:
    found = asked(policy(**changes))
    assert reason in reasons(found)
    assert taps(found)[0] == dict(zip(("covers_from", "covers_to"), right, strict=True))


def test_paid_long_after_it_began() -> None:
    found = asked(policy(covers_from="2026-08-01", covers_to="2027-07-31"), Running("petrol", TODAY))
    assert reasons(found) == ["paid_after"]


def test_cover_by_the_month_goes_on_from_the_last_one() -> None:
    monthly = [Cost(date(2026, m, 1), "insurance", 12_000, date(2026, m, 1), date(2026, m, 28)) for m in range(9, 12)]
    ended = Cost(
        date(2026, 9, 1), "breakdown_cover", 6_000, date(2026, 9, 1), date(2027, 8, 31), ended_on=date(2026, 10, 1)
    )
    assert asked(policy(amount=12_000, covers_from="2026-11-29", covers_to="2026-12-28"), known(monthly)) == []
    entry = policy(category="breakdown_cover", amount=6_000, covers_from="2026-10-02", covers_to="2027-10-01")
    assert asked(entry, known([ended])) == []


def test_a_set_of_tyres_lasts_so_many_miles() -> None:
    found = asked(typed(category="tyres", amount=32_000, covers_miles=180_000))
    assert reasons(found) == ["lasts"]
    assert {"covers_miles": "18000"} in taps(found)


def test_a_premium_paid_before_many_other_costs_can_be_paid_back() -> None:
    premium = Cost(date(2026, 6, 9), "insurance", 68_400, date(2026, 6, 9), date(2027, 6, 8))
    tolls = [Cost(date(2026, 7, 1) + timedelta(days=n), "parking_tolls", 200 + n) for n in range(cost.MOST_COSTS + 1)]
    assert asked(typed(category="insurance", amount=25_992, refund="on"), known([premium, *tolls])) == []


def test_cover_a_year_too_long_is_rather_one_of_a_year_where_the_sum_is_odd_as_well() -> None:
    tax = typed(category="vehicle_tax", amount=3_500, paid_on="2026-11-09")
    found = asked(tax | {"covers_from": "2026-12-01", "covers_to": "2028-11-30"}, known([]))
    assert taps(found)[0] == {"covers_from": "2026-12-01", "covers_to": "2027-11-30"}


@pytest.mark.parametrize("paid", [180_004, 3_000_000])
def test_what_was_once_paid_far_beyond_the_catalogue_leaves_no_range_and_is_asked_all_the_same(paid: int) -> None:
    once = Cost(date(2025, 12, 1), "breakdown_cover", paid, date(2025, 12, 1), date(2026, 11, 30))
    found = asked(policy(category="breakdown_cover", amount=6_000, covers_to="2028-11-30"), known([once]))
    assert reasons(found) == ["sum_year", "cover_length"]
    assert {"covers_from": "2026-12-01", "covers_to": "2027-11-30"} in taps(found)


def test_a_fee_within_the_law_says_nothing_of_one_beyond_it() -> None:
    fees = [Cost(date(2025, 11, 20), "mot", 5_485)]
    found = asked(typed(category="mot", amount=6_000), known(fees))
    assert [(doubt.reason, doubt.figures["most"]) for doubt in found] == [("sum_mot", 5_485)]
    found_right = [*fees, Cost(date(2026, 5, 20), "mot", 6_000)]
    assert asked(typed(category="mot", amount=6_000), known(found_right)) == []


def test_a_refund_that_is_in_the_book_may_be_left_out() -> None:
    book = known()
    book.add("cost", typed(amount=1_000, refund="on"))
    assert taps(asked(typed(amount=1_000, refund="on"), book)) == [{"leave_out": "on"}]


def test_a_policy_that_runs_already_was_paid_long_before_the_book_began() -> None:
    limits = known([]).limits("cost") | {"first": "2026-05-10"}
    runs = {"category": "insurance", "amount": 140_000, "covers_from": "2026-03-01", "covers_to": "2027-02-28"}
    assert cost.doubts(typed(paid_on="2026-03-01", **runs), limits) == []
    assert reasons(cost.doubts(typed(paid_on="2026-03-01"), limits)) == ["day_first"]


# --- A payment that a repeat makes by itself -----------------------------------------------------------------

PREMIUM = cost.Awaited(date(2026, 11, 30), "finance", 289_50, "premium")


def asked_beside(*awaited: cost.Awaited, **changes: Any) -> list[Doubt]:
    limits = cost.limits(COSTS, None, TODAY, {}, awaited=awaited)
    return cost.doubts(typed(**{"category": "finance", "amount": 295_00} | changes), limits)


def test_a_cost_of_another_sum_near_a_payment_that_is_awaited_may_stand_in_its_place() -> None:
    [found] = asked_beside(PREMIUM)
    assert (found.field, found.reason, found.may_be_right) == ("category", "awaited", True)
    assert found.figures == {"day": "2026-11-30", "pence": 289_50, "category": "a finance instalment"}
    assert taps([found]) == [{"in_place_of": "premium"}]
    assert [meaning.name for meaning in found.meanings] == ["in_place"]
    assert asked_beside(PREMIUM, in_place_of="premium") == []


@pytest.mark.parametrize(
    "changes", [{"amount": 289_50}, {"paid_on": "2026-11-24"}, {"category": "cleaning", "amount": 15_90}]
)
def test_the_same_sum_another_day_or_category_is_not_asked_about(changes: dict[str, Any]) -> None:
    assert "awaited" not in reasons(asked_beside(PREMIUM, **changes))


def test_neither_a_refund_nor_what_is_in_the_book_already_pays_what_is_awaited() -> None:
    assert "awaited" not in reasons(asked_beside(PREMIUM, refund="on"))
    in_the_book = {"paid_on": "2026-11-05", "amount": 289_50}
    early = PREMIUM._replace(on=date(2026, 11, 5), pence=280_00)
    assert reasons(asked_beside(early, **in_the_book)) == ["same_cost"]


def test_of_several_it_is_the_nearest_by_day_then_by_sum() -> None:
    later = PREMIUM._replace(on=date(2026, 12, 1), ref="later")
    small = PREMIUM._replace(pence=9_00, ref="small")
    assert taps(asked_beside(later, small, PREMIUM)) == [{"in_place_of": "premium"}]
    assert reasons(asked_beside(PREMIUM, small, in_place_of="small")) == ["awaited"]


def test_a_sum_that_can_hardly_be_right_is_asked_about_too() -> None:
    found = {doubt.reason: doubt for doubt in asked_beside(PREMIUM, amount=2_950_00)}
    assert {"awaited", "sum"} <= set(found)
    assert {"in_place_of": "premium"} in taps([found["awaited"]])
    assert {"amount": "295"} in taps([found["sum"]])
