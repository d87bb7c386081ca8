"""Random offers come out as the slow road has them: every month, every way out, and what isn't told."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.choosing.core.case import Case
from costing.choosing.core.figures import figures
from costing.choosing.core.ways_out import CannotBeHandedBack
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from tests.core.costing.choosing.by_hand import IS_HIRE, ByHand, NoCar
from tests.core.costing.choosing.cases import cases, events


@given(cases(), st.data())
def test_an_offer_costs_what_the_slow_road_says(case: Case, data: st.DataObject) -> None:
    [offer] = case.offers
    event = data.draw(st.none() | events(case.use.months))
    try:
        slow = ByHand(case, offer, what_if=event)
    except NoCar:
        with pytest.raises(CannotBeHandedBack, match=f"after {offer.payments} {offer.frequency}s"):
            figures(case, offer, what_if=event)
        return
    found = figures(case, offer, what_if=event)
    assert list(found.flow.months) == slow.months
    assert found.told == sum(found.flow.parts.values())
    assert {*found.not_told} == slow.untold
    assert found.way_out == slow.way
    assert found.at_most == slow.most
    listed = {way.way: way.pence for way in found.ways_out if not way.reason.startswith(("the law", "the agreement"))}
    assert listed == {way: None if untold else total for way, (total, untold, _) in slow.ways.items()}


def test_the_slow_road_knows_every_kind() -> None:
    assert {kind.name: kind.is_hire for kind in AGREEMENT_KINDS.values()} == IS_HIRE
