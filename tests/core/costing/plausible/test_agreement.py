"""Whether the terms of an agreement go together, and what a car can be worth."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from costing.core.plausible import agreement, typed, valuation
from fleet.core.plausible.doubt import Doubt

#: £12,000 with £2,000 down, 48 times £250: 9.64 % a year.
TERMS: dict[str, Any] = {
    "kind": "hire_purchase", "price": 1_200_000, "deposit": 200_000, "payment": 25_000, "payments": 48,
    "frequency": "month", "final_payment": None, "fees": None, "quoted_apr": 960, "mileage_allowance": None,
}  # fmt: skip


def asked(**changed: Any) -> dict[str, list[str]]:
    found = agreement.doubts(TERMS | changed)
    return {doubt.reason: [_said(meaning.changes) for meaning in doubt.meanings] for doubt in found}


def _said(changes: Any) -> str:
    return " ".join(f"{change.field}={change.value}" for change in changes)


@pytest.mark.parametrize(
    "changed",
    [
        {},
        {"quoted_apr": None},
        {"quoted_apr": 1_050},
        {"kind": "owned", "deposit": None, "payment": None, "payments": None, "frequency": "", "quoted_apr": None},
        {"kind": "contract_hire", "price": None, "quoted_apr": None, "mileage_allowance": 15_000},
        {"kind": "weekly_rental", "price": None, "quoted_apr": None, "frequency": "week", "payment": 13_500},
    ],
)
def test_ordinary_terms_are_plausible(changed: dict[str, Any]) -> None:
    assert asked(**changed) == {}


@pytest.mark.parametrize(
    ("changed", "reason", "meaning"),
    [
        ({"payment": 250_000}, "payment_far", "payment=250"),
        ({"price": 12_000_000}, "price_far", "price=12000"),
        ({"frequency": "week", "quoted_apr": None}, "apr_high", "frequency=month"),
        ({"deposit": 2_000_000}, "deposit_high", "deposit=2000"),
        ({"price": 200_000, "deposit": 1_200_000}, "deposit_high", "price=12000 deposit=2000"),
        ({"quoted_apr": 96}, "apr_far", "quoted_apr=9.6"),
        ({"payments": 4}, "repaid_low", "payments=48"),
        ({"payments": 480}, "payments_far", "payments=48"),
        ({"payments": 4_800}, "payments_far", "payments=48"),
        ({"mileage_allowance": 100}, "allowance_far", "mileage_allowance=1000"),
        (
            {"kind": "weekly_rental", "price": None, "quoted_apr": None, "payment": 13_500},
            "payment_far",
            "frequency=week",
        ),
    ],
)
def test_a_slip_is_asked_about_with_what_is_meant(changed: dict[str, Any], reason: str, meaning: str) -> None:
    assert meaning in asked(**changed)[reason]


def test_what_cannot_be_is_refused_and_the_rest_may_be_right() -> None:
    by_reason: dict[str, Doubt] = {}
    for changed in ({"deposit": 1_200_000}, {"payments": 4}, {"quoted_apr": 96}):
        by_reason |= {doubt.reason: doubt for doubt in agreement.doubts(TERMS | changed)}
    refused = {reason for reason, doubt in by_reason.items() if not doubt.may_be_right}
    assert refused == {"deposit_high", "repaid_low"}


def test_the_figures_are_whole_pence_and_written_as_typed() -> None:
    told = typed.agreement(
        {"kind": "pcp", "price": Decimal("11800"), "deposit": None, "payment": Decimal("199.5"), "payments": 36}
        | {"frequency": "month", "final_payment": None, "fees": None, "quoted_apr": None, "mileage_allowance": None}
    )
    assert (told["price"], told["deposit"], told["payment"]) == (1_180_000, None, 19_950)
    assert [agreement.written(*one) for one in (("payment", 19_950), ("payments", 36), ("price", None))] == [
        "199.5",
        "36",
        "",
    ]


BOUGHT = (date(2024, 1, 10), 1_200_000)


def worth(pence: int, day: str = "2026-03-16", price: Any = BOUGHT, known: Any = ((date(2025, 9, 1), 800_000),)) -> Any:
    limits = valuation.limits(price, known, date(2026, 3, 16))
    found = valuation.doubts({"value": pence, "valued_on": day}, limits)
    return {doubt.reason: [_said(meaning.changes) for meaning in doubt.meanings] for doubt in found}


def test_a_car_loses_value_and_is_asked_about_where_it_does_not() -> None:
    assert worth(720_000) == {}
    assert worth(820_000) == {}
    assert "value=7200" in worth(7_200_000)["value_above"]
    assert "value=7200" in worth(72_000)["value_below"]
    assert "value=11000" in worth(11_000_000, known=())["value_above"]
    assert set(worth(1_250_000, known=())) == {"value_above_price"}
    assert set(worth(5_000, price=None, known=())) == {"value_far"}
    assert worth(500_000, price=None, known=()) == {}
    assert "valued_on=2025-02-05" in worth(300_000, "2024-02-05", known=())["value_below"]


def test_a_value_is_whole_pence() -> None:
    assert typed.valuation({"value": Decimal("7900"), "valued_on": date(2026, 1, 2)}) == {
        "value": 790_000,
        "valued_on": "2026-01-02",
    }
    assert (valuation.written("value", 790_000), valuation.written("valued_on", None)) == ("7900", "")


def test_what_is_not_told_is_not_changed_either() -> None:
    assert asked(kind="contract_hire", price=None, deposit=None, payments=None, quoted_apr=None, payment=2_500) == {
        "payment_far": ["payment=250"]
    }


def test_without_a_frequency_none_is_changed() -> None:
    found = asked(kind="owned", price=12_000, frequency="", deposit=None, payment=None, payments=None, quoted_apr=None)
    assert found == {"price_far": ["price=12000", "price=1200"]}
