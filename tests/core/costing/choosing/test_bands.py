"""How far the line of what leaving then costs may lie lower or higher."""

from fractions import Fraction

from costing.choosing.core.bands import Band, band_of
from costing.choosing.core.case import Case, Running, Spread, Uncertain
from costing.choosing.core.figures import figures
from costing.choosing.core.verdicts import verdicts
from tests.core.costing.choosing.cases import ALL, OWNED, RENTAL, case

BARE = OWNED._replace(name="Bought", includes=ALL, price=1_000_00, value_at_horizon=1_000_00)
RENT = RENTAL._replace(name="Rented", includes=ALL, damage=0, frequency="month", payments=1, payment=100_00)


def band(of: Case, name: str) -> Band | None:
    planned = [figures(of, offer) for offer in of.offers]
    return band_of(of, next(one for one in planned if one.offer.name == name), verdicts(of, planned))


def ranged(name: str, *spreads: tuple[int, int, int], offer: str = "") -> Uncertain:
    return Uncertain(name, tuple(Spread(*map(Fraction, spread)) for spread in spreads), offer)


def test_its_ranges_lie_at_the_ends_that_cost_least_and_most() -> None:
    of = case(BARE._replace(includes=ALL - {"repairs", "insurance"}), RENT, months=3, running=Running(
        repairs_per_year=120_00, insurance=(200_00,), insurance_given_back=Fraction(0)))  # fmt: skip
    of = of._replace(
        uncertain=(
            ranged("repairs_per_year", (60_00, 120_00, 240_00)),
            ranged("insurance", (100_00, 200_00, 400_00)),
            ranged("value_at_horizon", (700_00, 1_000_00, 1_000_00), offer="Bought"),
            ranged("months", (1, 2, 3)),
        )
    )

    found = band(of, "Bought")
    assert found is not None
    assert found.low == (105_00, 110_00, 115_00)
    assert found.high[-1] == 400_00 + 60_00 + 300_00  # most where it fetches least
    assert band(of, "Rented") is None


def test_what_is_not_told_goes_from_nothing_evenly_to_its_room() -> None:
    of = case(BARE._replace(includes=ALL - {"repairs"}), RENT, months=4, running=Running())

    assert band(of, "Bought") == Band((0, 0, 0, 0), (100_00, 200_00, 300_00, 400_00))


def test_what_a_car_must_fetch_goes_from_that_to_nothing() -> None:
    of = case(BARE._replace(value_at_horizon=None), RENT, months=4)

    found = band(of, "Bought")
    assert found is not None
    assert found.low[-1] == 400_00  # it must fetch 600.00 to cost no more than the rent
    assert found.high[-1] == 1_000_00
    assert all(low < high for low, high in zip(found.low, found.high, strict=True))
