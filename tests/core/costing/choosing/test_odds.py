"""Odds: against closed forms, against the exact totals, and against numpy's own percentiles."""

import math
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from costing.choosing.core.case import Case
from costing.choosing.core.cash_flow import cash_flow
from costing.choosing.core.figures import compare
from costing.choosing.core.inputs import INPUTS, varied
from costing.choosing.core.odds import DRAWS, draw_totals, odds
from costing.choosing.core.switching import switching_values
from costing.choosing.document.checks import Unreadable
from tests.core.costing.choosing.cases import HIRE, OWNED, PCP, PURCHASE, RENTAL, Table, case

WIDE: list[Table] = [
    {"input": "repairs_per_year", "low": 150, "likely": 400, "high": 1_400},
    {"input": "miles_per_year", "low": 15_000, "likely": 24_000, "high": 36_000},
    {"input": "fuel_pence_per_mile", "low": 11, "likely": 13, "high": 19},
    {"input": "tyre_set", "low": 250, "likely": 320, "high": 480},
    {"input": "servicing_per_year", "low": 200, "likely": 260, "high": 500},
    {"input": "damage", "low": 0, "likely": 200, "high": 1_200},
    {"input": "value_at_horizon", "low": 3_000, "likely": 4_500, "high": 6_500},
    {"input": "value_at_horizon", "offer": PCP["name"], "low": 5_000, "likely": 6_900, "high": 8_000},
    {"input": "payment", "offer": RENTAL["name"], "low": 99, "likely": 129, "high": 149},
]
TIME: list[Table] = [
    {"input": "months", "low": 12, "likely": 20, "high": 36},
    {"input": "weeks_off", "low": 0, "likely": 2, "high": 20},
]
LEFT_BY_SHARE = HIRE | {"pauses_when_off": True, "early_exit": {"kind": "share_of_remaining", "value": Decimal("0.5")}}
ALL = (OWNED, PCP, RENTAL | {"pauses_when_off": True}, LEFT_BY_SHARE, PURCHASE)


def triangular_below(value: float, low: float, likely: float, high: float) -> float:
    """The share of a triangular distribution below a value: the textbook's."""
    if value <= likely:
        return (value - low) ** 2 / ((high - low) * (likely - low))
    return 1 - (high - value) ** 2 / ((high - low) * (high - likely))


@pytest.mark.parametrize("likely", [0, 2_000, 3_000, 9_000])
def test_one_uncertain_input_gives_the_share_below_its_switching_value(likely: int) -> None:
    of = case(OWNED, RENTAL, uncertain=[{"input": "repairs_per_year", "low": 0, "likely": likely, "high": 9_000}])
    [switch] = [one.value for one in switching_values(of) if one.input == "repairs_per_year"]
    assert switch is not None

    expected = triangular_below(float(switch), 0, 100 * likely, 900_000)
    owned, rental = odds(of)
    error = math.sqrt(expected * (1 - expected) / DRAWS)
    assert abs(owned.cheapest - expected) <= 3 * error
    assert owned.cheapest + rental.cheapest == pytest.approx(1)


def test_months_are_drawn_up_to_the_whole_one_nearest_to_the_most() -> None:
    returned = PCP | {"payments": 24, "at_end": "hand_back"}

    assert odds(case(returned, uncertain=[{"input": "months", "low": 12, "likely": 20, "high": Decimal("24.4")}]))
    with pytest.raises(Unreadable, match="leaves no car for the rest of the 25 months"):
        case(returned, uncertain=[{"input": "months", "low": 12, "likely": 20, "high": Decimal("24.7")}])


def test_the_range_of_one_uncertain_input_is_that_of_its_distribution() -> None:
    of = case(OWNED, uncertain=[{"input": "value_at_horizon", "low": 2_000, "likely": 4_000, "high": 6_000}])
    [owned] = odds(of)
    base = compare(of).figures[0].total + 410_000

    # A tenth lies below 2,000 + 4,000 x the root of a twentieth, and as much above.
    tenth = 400_000 * math.sqrt(1 / 20)
    assert owned.middle == pytest.approx(base - 400_000, abs=4_000)
    assert owned.low == pytest.approx(base - 600_000 + tenth, abs=4_000)
    assert owned.high == pytest.approx(base - 200_000 - tenth, abs=4_000)


@pytest.mark.parametrize("uncertain", [WIDE, [*WIDE, *TIME]], ids=["arrays", "with months and weeks"])
def test_every_drawn_total_is_the_cash_flow_at_the_drawn_values(uncertain: list[Table]) -> None:
    of = case(*ALL, uncertain=uncertain)
    draws, seed = 60, 7
    totals = draw_totals(of, draws, seed)

    for draw, values in enumerate(drawn_values(of, draws, seed)):
        at_draw = varied(of, values)
        for index, offer in enumerate(at_draw.offers):
            # Payments are drawn between two pence and paid 104 times; other sums are rounded once each.
            near = 60 if offer.is_hire else 5
            assert totals[index, draw] == pytest.approx(cash_flow(offer, at_draw.scenario).total, abs=near)


def drawn_values(of: Case, draws: int, seed: int) -> list[dict[tuple[str, str], Fraction]]:
    """What the seed draws, in the order of the case, months and weeks as whole numbers."""
    rng = np.random.default_rng(seed)
    columns = {}
    for one in of.uncertain:
        column = rng.triangular(float(one.low), float(one.likely), float(one.high), draws)
        columns[one.input, one.offer] = np.rint(column) if INPUTS[one.input].is_whole else column
    return [{key: Fraction(float(column[draw])) for key, column in columns.items()} for draw in range(draws)]


def test_shares_and_ranges_are_those_of_the_totals() -> None:
    of = case(*ALL, uncertain=[*WIDE, *TIME])
    totals = draw_totals(of, 1_000, 3)

    found = odds(of, draws=1_000, seed=3)
    for index, one in enumerate(found):
        assert one.name == of.offers[index].name
        assert (one.low, one.middle, one.high) == pytest.approx(tuple(np.percentile(totals[index], (10, 50, 90))))
        assert one.cheapest == pytest.approx(np.mean(np.argmin(totals, axis=0) == index))
    assert sum(one.cheapest for one in found) == pytest.approx(1)


def test_the_same_seed_draws_the_same_and_another_something_else() -> None:
    of = case(*ALL, uncertain=[*WIDE, *TIME])

    assert draw_totals(of, 500, 1).tobytes() == draw_totals(of, 500, 1).tobytes()
    assert odds(of, draws=500) == odds(of, draws=500)
    assert draw_totals(of, 500, 1).tobytes() != draw_totals(of, 500, 2).tobytes()


def test_offers_meet_the_same_draws() -> None:
    twin = RENTAL | {"name": "The same again"}
    of = case(RENTAL, twin, OWNED, uncertain=WIDE[:7])

    one, other, _ = draw_totals(of, 200, 5)
    assert (one == other).all()
    first, second, third = odds(of)
    assert first.cheapest == second.cheapest  # equals share
    assert first.cheapest + second.cheapest + third.cheapest == pytest.approx(1)


def test_an_input_that_is_certain_is_taken_as_it_is() -> None:
    of = case(OWNED, uncertain=[{"input": "repairs_per_year", "low": 400, "likely": 400, "high": 400}])

    [owned] = odds(of)
    assert owned.low == owned.high == pytest.approx(compare(of).figures[0].total)


def test_nothing_uncertain_has_no_odds() -> None:
    assert odds(case(OWNED, RENTAL)) == []
