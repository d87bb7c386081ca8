"""Choosing the next car: six offers over 60 months, against the bare arithmetic on arrays of the same size."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal

import numpy as np

from costing.core.offers.compare import compare
from costing.core.offers.odds import DRAWS, odds
from costing.core.offers.switching import switching_values
from costing.core.offers.terms import Case
from costing.offers.reading import read

#: About so many sums make one offer's total.
LINES = 14
OFFERS: list[dict[str, object]] = [
    {"kind": "owned", "price": 7_200, "value_at_horizon": 2_100},
    {"kind": "owned", "price": 12_500, "value_at_horizon": 4_800},
    {
        "kind": "hire_purchase", "price": 9_500, "deposit": 1_500, "payment": 252, "payments": 36, "final_payment": 10,
        "value_at_horizon": 2_600,
    },
    {
        "kind": "pcp", "price": 15_800, "deposit": 1_200, "payment": 239, "payments": 72, "final_payment": 3_400,
        "value_at_horizon": 4_900,
    },
    {
        "kind": "contract_hire", "deposit": 900, "payment": 310, "payments": 36, "mileage_allowance": 20_000,
        "excess_pence_per_mile": 9, "includes": ["vehicle_tax", "servicing"],
    },
    {
        "kind": "weekly_rental", "payment": 129, "payments": 104, "frequency": "week", "damage": 350,
        "includes": ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out"],
        "early_exit": {"kind": "weeks", "value": 8},
    },
]  # fmt: skip


def case() -> Case:
    """Six offers, and five inputs of which no more than a range is known."""
    return read(
        {
            "use": {
                "starts_on": date(2027, 1, 1), "months": 60, "miles_per_year": 24_000, "private_miles_per_year": 3_000,
                "lesson_hours_per_week": 26, "weeks_taught_per_year": 46, "lesson_hour_price": 38,
            },
            "running": {
                "fuel_pence_per_mile": Decimal("13.5"), "insurance": [910, 790], "vehicle_tax_per_year": 195,
                "breakdown_per_year": 60, "mot": Decimal("54.85"), "servicing_per_year": 260, "repairs_per_year": 400,
                "tyre_set": 320, "fit_out": 440,
            },
            "offer": [{"name": f"Offer {number}"} | offer for number, offer in enumerate(OFFERS, 1)],
            "uncertain": [
                {"input": "repairs_per_year", "low": 150, "likely": 400, "high": 1_400},
                {"input": "miles_per_year", "low": 15_000, "likely": 24_000, "high": 30_000},
                {"input": "fuel_pence_per_mile", "low": 11, "likely": 13, "high": 19},
                {"input": "value_at_horizon", "low": 1_500, "likely": 3_000, "high": 6_000},
                {"input": "tyre_set", "low": 250, "likely": 320, "high": 480},
            ],
        }
    ).case  # fmt: skip


def report_offers(time: Callable[[Callable[[], None]], float]) -> None:
    """Print what the odds take beside the bare arithmetic, and what comparing and solving take."""
    six = case()
    drawn, sums = np.random.default_rng(1), np.ones((len(six.offers), DRAWS))

    def bare() -> None:
        for _ in six.uncertain:
            column = drawn.triangular(1, 2, 3, DRAWS)
        for row in sums:
            for _ in range(LINES):
                row += 1.5 * column
        np.percentile(sums, (10, 50, 90), axis=1)
        np.argmin(sums, axis=0)

    bare_time, odds_time = time(bare), time(lambda: _done(odds(six)))
    print(
        f"odds of {len(six.offers)} offers over {six.use.months} months, {DRAWS:,} draws: {odds_time * 1000:.1f} ms, "
        f"bare numpy {bare_time * 1000:.1f} ms: ratio {odds_time / bare_time:.2f}"
    )
    print(
        f"comparing them: {time(lambda: _done(compare(six).figures)) * 1000:.1f} ms; "
        f"{len(switching_values(six))} switching values: {time(lambda: _done(switching_values(six))) * 1000:.0f} ms"
    )


def _done(answer: object) -> None:
    if not answer:
        raise RuntimeError("nothing was worked out, so nothing is measured")
