"""A stored comparison as the document it stands for."""

import json
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.choosing.document.checks import Unreadable
from costing.choosing.services.stored import document_of, from_json, to_json
from instructors.models import Member
from tests.costing.comparison_pages import comparison_of, rental

sums = st.decimals(0, 999_999, places=2)


@given(
    price=sums,
    first_registered=st.dates(date(1980, 1, 1), date(2100, 12, 31)),
    payments=st.integers(1, 520),
    early_exit=st.fixed_dictionaries({"kind": st.sampled_from(["weeks", "share_of_remaining"]), "value": sums}),
    includes=st.lists(st.sampled_from(["mot", "tyres"])),
)
def test_what_is_kept_as_json_is_told_again_to_the_penny(**terms: object) -> None:
    assert from_json("offer", json.loads(json.dumps(to_json(terms)))) == terms


def test_premiums_are_kept_year_by_year() -> None:
    running = {"insurance": [Decimal("910.00"), Decimal("790.00")]}
    assert to_json(running) == {"insurance": ["910.00", "790.00"]}
    assert from_json("running", to_json(running)) == running


def test_offers_that_are_not_complete_and_what_is_said_of_them_are_left_out(keeper: Member) -> None:
    row = {"input": "damage", "low": "0", "likely": "1", "high": "2.5"}
    comparison = comparison_of(keeper, uncertain=[row, row | {"offer": "Half told"}])
    rental(comparison)
    rental(comparison, name="Half told", terms={}, is_complete=False)
    case = document_of(comparison).case
    assert [offer.name for offer in case.offers] == ["Weekly rental"]
    assert [(one.offer, one.high) for one in case.uncertain] == [("", 250)]


def test_a_text_that_is_no_number_or_day_is_a_fault_of_its_key(keeper: Member) -> None:
    comparison = comparison_of(keeper)
    comparison.use = comparison.use | {"starts_on": "soon", "miles_per_year": "many"}
    comparison.running = {"unheard_of": "1"}
    rental(comparison)
    with pytest.raises(Unreadable) as refused:
        document_of(comparison)
    assert [fault.place for fault in refused.value.faults] == [
        ("use", "starts_on"),
        ("use", "miles_per_year"),
        ("running", "unheard_of"),
    ]
