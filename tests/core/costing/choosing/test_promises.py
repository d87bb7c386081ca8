"""What is promised of every comparison, whatever is told and whatever isn't."""

from fractions import Fraction

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from costing.choosing.core.case import Case, EarlyExit, Fuel, Offer
from costing.choosing.core.figures import figures
from costing.choosing.core.verdicts import PairVerdict, verdicts
from costing.choosing.core.ways_out import CannotBeHandedBack
from costing.core.catalogue.running import RUNNING_PARTS
from tests.core.costing.choosing.cases import OWNED, RUNNING, cases, said, uses

#: What an untold running cost may turn out to be, as fields of a table.
_TOLD = {
    "insurance": {"insurance": (1_500_00,)},
    "vehicle_tax": {"vehicle_tax_per_year": 195_00},
    "breakdown": {"breakdown_per_year": 75_00},
    "mot": {"mot": 54_85},
    "servicing": {"servicing_per_year": 300_00},
    "repairs": {"repairs_per_year": 2_000_00},
    "tyres": {"tyre_set": 400_00, "tyre_set_miles": Fraction(20_000)},
    "fit_out": {"fit_out": 500_00},
    "fuel": {"fuel": (Fuel(Fraction(16)),)},
}


def judged(of: Case) -> tuple[PairVerdict, ...]:
    return verdicts(of, [figures(of, offer) for offer in of.offers])


def with_offer(of: Case, name: str, **terms: object) -> Case:
    changed: dict[str, object] = terms
    offers = (offer._replace(**changed) if offer.name == name else offer for offer in of.offers)  # type: ignore[arg-type]
    return of._replace(offers=tuple(offers))


def told_more(of: Case, offer: Offer, part: str, share: Fraction) -> Case:
    """The case once an untold part of an offer is told."""
    if part in RUNNING_PARTS:
        return with_offer(of, offer.name, running=offer.running._replace(**_TOLD[part]))  # type: ignore[arg-type]
    if part == "value":
        return with_offer(of, offer.name, value_at_horizon=int(share * 20_000_00))
    if part == "early_exit":
        return with_offer(of, offer.name, early_exit=EarlyExit("share_of_remaining", share))
    if part == "damage":
        return with_offer(of, offer.name, damage=int(share * 3_000_00))
    return with_offer(of, offer.name, excess_pence_per_mile=share * 30)


def test_the_parts_that_may_be_untold_can_be_told_here() -> None:
    assert _TOLD.keys() == RUNNING_PARTS.keys()


@settings(max_examples=80, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(cases(most_offers=2), st.data())
def test_telling_an_untold_cost_never_unsettles_a_verdict(of: Case, data: st.DataObject) -> None:
    try:
        before = judged(of)
    except CannotBeHandedBack:
        assume(False)
    assume(before and before[0].is_settled and not before[0].if_same)
    [was] = before
    for offer in of.offers:
        untold = figures(of, offer).not_told
        if not untold:
            continue
        part = data.draw(st.sampled_from(untold))
        share = data.draw(st.sampled_from([Fraction(0), Fraction(1, 3), Fraction(1)]))
        [now] = judged(told_more(of, offer, part, share))
        if part != "value":
            assert now.is_settled
        assert now.cheaper in (was.cheaper, None) or was.cheaper is None


@settings(max_examples=80, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(cases(most_offers=2))
def test_at_the_room_the_two_totals_differ_by_at_most_a_penny(of: Case) -> None:
    try:
        found = judged(of)
    except CannotBeHandedBack:
        assume(False)
    assume(found and found[0].room is not None)
    [verdict] = found
    one, other = (figures(of, offer) for offer in sorted(of.offers, key=lambda offer: offer.name != verdict.room_of))
    assert verdict.room is not None
    if not verdict.is_fetch:
        assert abs(one.told + verdict.room - other.told) <= 1
    elif verdict.room >= 0 and one.offer.on_leaving == "cheapest":
        fetched = with_offer(of, one.offer.name, value_at_horizon=verdict.room)
        sold = figures(fetched, next(offer for offer in fetched.offers if offer.name == one.offer.name))
        assume(sold.way_out in ("sell", "settle"))  # another way may then be lower still
        left_out = {*one.not_told} & {*RUNNING_PARTS}
        assert left_out <= {*verdict.if_same}
        worth_something = one.offer.value_now if one.offer.value_now is not None else one.offer.price
        assume(worth_something)
        assert abs(sold.told - other.told) <= 1


@settings(max_examples=60)
@given(cases())
def test_leaving_at_the_horizon_is_staying(of: Case) -> None:
    [offer] = of.offers
    try:
        left, stayed = figures(of, offer, months=of.use.months), figures(of, offer)
        # The plan alone has an expected total, and rests on what is assumed for its chances of leaving too.
        assert said(left, "assumed", "expected") == said(stayed, "assumed", "expected")
        assert (left.offer, left.expected) == (stayed.offer, None)
    except CannotBeHandedBack:
        assume(False)


@given(uses(), st.integers(0, 30_000_00), st.integers(0, 20_000_00), st.sampled_from(["0", "0.04", "0.17"]))
def test_the_same_car_kept_or_bought_at_its_value_costs_the_same_at_any_discount_rate(
    use: object, worth: int, at_horizon: int, rate: str
) -> None:
    told = RUNNING._replace(fit_out=0)
    bought = OWNED._replace(name="Bought", price=worth, value_at_horizon=at_horizon if worth else 0)
    kept = bought._replace(name="Kept", value_now=worth, running=told)
    of = Case(use._replace(discount_rate=Fraction(rate)), told, (kept, bought))  # type: ignore[attr-defined]

    one, other = (figures(of, offer) for offer in of.offers)
    assert (one.total, one.present_value, one.flow) == (other.total, other.present_value, other.flow)
    assert judged(of)[0].cheaper is None
