"""The walk-away price: worked examples, and that a penny more loses what it says."""

from fractions import Fraction

import pytest
from hypothesis import given, settings

from costing.choosing.core.case import Case, Offer, Running
from costing.choosing.core.credit import rate_of, terms_of
from costing.choosing.core.figures import figures
from costing.choosing.core.verdicts import verdicts
from costing.choosing.core.walk_away import WalkAway, _prices, walk_away
from tests.core.costing.choosing.cases import ALL, OWNED, PCP, PURCHASE, RENTAL, case, cases

BARE = OWNED._replace(name="Bought", includes=ALL, price=9_000_00, value_at_horizon=4_000_00)
RENT = RENTAL._replace(name="Rented", includes=ALL, damage=0, frequency="month", payments=1, payment=200_00)
LENT = PURCHASE._replace(name="Lent", includes=ALL)


def beats(of: Case, offer: Offer) -> bool:
    """Whether the offer, in place of the one of its name, is settled as cheaper than every other."""
    at = of._replace(offers=tuple(offer if one.name == offer.name else one for one in of.offers))
    found = verdicts(at, [figures(at, one) for one in at.offers])
    return all(one.cheaper == offer.name for one in found if offer.name in (one.a, one.b))


def test_a_cash_price_may_rise_by_the_lead_less_a_penny() -> None:
    # 5,000.00 against 6,000.00 over 30 months.
    assert walk_away(case(BARE, RENT, months=30), "Bought") == WalkAway(9_999_99, than="Rented")


def test_the_best_other_offer_decides_even_above_the_price_asked() -> None:
    of = case(BARE, RENT, RENT._replace(name="Cheap", payment=120_00), months=30)

    assert walk_away(of, "Bought") == WalkAway(7_599_99, than="Cheap")  # it would have to cost less than is asked


def test_a_financed_price_moves_what_is_lent_and_its_payments() -> None:
    of = case(LENT, RENT, months=45)

    found = walk_away(of, "Lent")
    assert found.price is not None
    at_price, _ = _prices(LENT)
    best, beyond = at_price(found.price), at_price(found.price + 1)
    assert beats(of, best)
    assert not beats(of, beyond)
    # The deposit, 45 payments, the fees and the final payment, less what it fetches, against 9,000.00.
    assert 850_00 + 45 * best.payment + 95_00 + 10_00 - 5_100_00 < 9_000_00
    assert (best.deposit, best.fees, best.final_payment, best.payments) == (850_00, 95_00, 10_00, 45)
    old, new = rate_of(terms_of(LENT)), rate_of(terms_of(best))
    assert old is not None
    assert new == pytest.approx(old, rel=1e-4)


def test_the_price_asked_gives_the_payment_asked() -> None:
    for offer in (LENT, PCP):
        at_price, lowest = _prices(offer)
        assert offer.price is not None
        assert at_price(offer.price) == offer
        assert at_price(lowest).payment == 0


def test_what_must_cost_both_the_same_is_named() -> None:
    both = ALL - {"fuel"}
    of = case(BARE._replace(includes=both), RENT._replace(includes=both), months=30, running=Running())

    assert walk_away(of, "Bought") == WalkAway(9_999_99, than="Rented", if_same=("fuel",))


@pytest.mark.parametrize(
    ("of", "name", "words"),
    [
        (case(BARE, RENT), "Rented", "a hired car has no price"),
        (case(BARE), "Bought", "no other offer"),
        (case(LENT._replace(price=850_00), RENT), "Lent", "no rate"),
        (case(BARE._replace(value_at_horizon=0), RENT._replace(payment=0)), "Bought", "another offer is as cheap"),
        (case(BARE._replace(includes=ALL - {"fuel"}), RENT, running=Running()), "Bought", "hangs on what is not told"),
    ],
)
def test_there_is_no_price_where_none_can_be_said(of: Case, name: str, words: str) -> None:
    found = walk_away(of, name)

    assert found.price is None
    assert words in found.reason
    assert found.of == (("fuel",) if "hangs" in words else ())


def test_against_a_cost_without_end_any_price_will_do() -> None:
    endless = RENT._replace(payment=1_000_000_000)

    assert walk_away(case(BARE, endless), "Bought").reason == "it beats every other offer at any price"


@settings(max_examples=60)
@given(cases(most_offers=3))
def test_at_the_price_it_beats_the_others_and_a_penny_above_it_does_not(of: Case) -> None:
    for offer in of.offers:
        try:
            found = walk_away(of, offer.name)
        except ValueError:
            return  # a plan that leaves no car
        if found.price is None:
            assert found.reason
            continue
        at_price, _ = _prices(offer)
        assert beats(of, at_price(found.price))
        assert not beats(of, at_price(found.price + 1))
        assert Fraction(found.price) >= 0
