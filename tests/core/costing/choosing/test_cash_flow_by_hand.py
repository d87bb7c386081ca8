"""Random offers: every month of the core's cash flow, to the penny, against the slow road."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from costing.choosing.core.case import Case
from costing.choosing.core.cash_flow import items_of, total_of
from costing.choosing.core.figures import compare, what_if
from costing.choosing.document.checks import Unreadable
from costing.choosing.document.reading import read_document
from tests.core.costing.choosing.by_hand import ByHand
from tests.core.costing.choosing.cases import (
    HIRE,
    KINDS,
    OWNED,
    PCP,
    PURCHASE,
    RENTAL,
    RUNNING,
    USE,
    Table,
    any_offer,
    offers,
    runnings,
    uses,
)

KIND = pytest.mark.parametrize("kind", KINDS)


def case_of(use: Table, running: Table, offer: Table, change: Table | None = None) -> Case:
    """The case of one offer; documents that state a hand-back before the horizon are passed over."""
    document: Table = {"use": use, "running": running, "offer": [offer]}
    if change is not None:
        document["what_if"] = [{"name": "Something"} | change]
    try:
        return read_document(document).case
    except Unreadable as refused:
        assume("is handed back" not in str(refused))
        raise


def base_flow(use: Table, running: Table, offer: Table) -> list[int]:
    [figures] = compare(case_of(use, running, offer)).figures
    return list(figures.flow.months)


def changed_flow(use: Table, running: Table, offer: Table, **change: Any) -> list[int]:
    case = case_of(use, running, offer, change)
    [figures] = what_if(case, case.what_ifs[0]).figures
    return list(figures.flow.months)


@KIND
@given(data=st.data(), use=uses(), running=runnings)
def test_every_month_of_an_offer(kind: str, data: st.DataObject, use: Table, running: Table) -> None:
    offer = data.draw(offers(kind))

    assert base_flow(use, running, offer) == ByHand(use, running, offer).months


@given(use=uses(), running=runnings, offer=any_offer, data=st.data())
def test_every_month_when_left_early(use: Table, running: Table, offer: Table, data: st.DataObject) -> None:
    leave = data.draw(st.integers(1, use["months"]))

    expected = ByHand(use, running, offer, leave_at_month=leave).months
    assert changed_flow(use, running, offer, leave_at_month=leave) == expected


@given(use=uses(), running=runnings, offer=any_offer, data=st.data())
def test_every_month_when_weeks_are_off(use: Table, running: Table, offer: Table, data: st.DataObject) -> None:
    off = {"from_week": data.draw(st.integers(1, use["months"] * 52 // 12)), "weeks": data.draw(st.integers(0, 60))}

    assert changed_flow(use, running, offer, weeks_off=off) == ByHand(use, running, offer, off=off).months


@given(use=uses(), running=runnings, offer=any_offer, data=st.data())
def test_every_month_when_ill_and_then_left(use: Table, running: Table, offer: Table, data: st.DataObject) -> None:
    off = {"from_week": data.draw(st.integers(1, use["months"] * 52 // 12)), "weeks": data.draw(st.integers(0, 60))}
    leave = data.draw(st.integers(1, use["months"]))

    expected = ByHand(use, running, offer, off, leave).months
    assert changed_flow(use, running, offer, weeks_off=off, leave_at_month=leave) == expected


@given(use=uses(), running=runnings, offer=any_offer)
def test_the_parts_and_the_sums_without_their_months_add_up_to_the_total(
    use: Table, running: Table, offer: Table
) -> None:
    case = case_of(use, running, offer)
    [figures] = compare(case).figures

    assert sum(figures.flow.parts.values()) == figures.total
    assert total_of(items_of(case.offers[0], case.scenario)) == figures.total


# The cases by which offers differ most, each by name, so that none is left to chance.
NAMED: dict[str, tuple[Table, Table]] = {
    "owned": ({}, OWNED),
    "hire purchase inside its term": ({}, PURCHASE),
    "hire purchase past its term": ({"months": 48}, PURCHASE),
    "hire purchase by the week": ({}, PURCHASE | {"frequency": "week", "payment": Decimal("58.00"), "payments": 156}),
    "hire purchase by the week, past its term": ({}, PURCHASE | {"frequency": "week", "payments": 80}),
    "pcp longer than the horizon": ({}, PCP),
    "pcp kept": ({"months": 36}, PCP | {"at_end": "keep"}),
    "pcp sold at its end": ({"months": 36}, PCP),
    "pcp handed back": ({"months": 36}, PCP | {"at_end": "hand_back", "damage": Decimal("120.00")}),
    "pcp handed back, but longer than the horizon": ({}, PCP | {"at_end": "hand_back"}),
    "pcp past its term": ({"months": 60}, PCP),
    "rental to its end": ({}, RENTAL),
    "rental left early, by weeks": ({"months": 9}, RENTAL),
    "rental left early, by share": ({"months": 9}, RENTAL | {"early_exit": {"kind": "share_of_remaining", "value": 1}}),
    "rental renewed": ({"months": 36}, RENTAL | {"payments": 52, "deposit": Decimal("200.00"), "fees": 25}),
    "hire renewed": ({"months": 60}, HIRE),
    "hire left early, by weeks of a monthly payment": ({"months": 9}, HIRE | {"early_exit": RENTAL["early_exit"]}),
    "a first year without an MOT": ({}, OWNED | {"first_registered": date(2025, 1, 1)}),
    "from the last day of January": ({"starts_on": date(2027, 1, 31)}, RENTAL),
    "from the last day of January, a young car": (
        {"starts_on": date(2027, 1, 31), "months": 60},
        OWNED | {"first_registered": date(2026, 1, 31)},
    ),
    "a quarter shorter than its thirteen weeks": ({"starts_on": date(2027, 2, 1), "months": 3}, RENTAL),
}


@pytest.mark.parametrize("name", NAMED)
def test_every_month_of_a_named_case(name: str) -> None:
    use, offer = NAMED[name]

    assert base_flow(USE | use, RUNNING, offer) == ByHand(USE | use, RUNNING, offer).months


@pytest.mark.parametrize("pauses", [False, True])
@pytest.mark.parametrize("offer", [RENTAL, HIRE, PURCHASE], ids=lambda offer: offer["kind"])
def test_six_weeks_off_with_payments_running_on_or_paused(offer: Table, pauses: bool) -> None:
    off, offer = {"from_week": 20, "weeks": 6}, offer | {"pauses_when_off": pauses}

    assert changed_flow(USE, RUNNING, offer, weeks_off=off) == ByHand(USE, RUNNING, offer, off=off).months
