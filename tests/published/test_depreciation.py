"""Reducing balance, and the whole cost of a car over a year.

Source of the rate: 1 - (residual / cost) ^ (1 / years), a textbook formula (Y15-2, C). Examples
Y15-E2, Y15-E3 and Y15-E12 are of status C.
"""

from datetime import date
from decimal import Decimal
from itertools import pairwise

import pytest

from costing.core.depreciation import worth
from costing.core.money import to_pence, to_places
from costing.core.records import (
    Agreement,
    CarBook,
    Cost,
    Fill,
    Period,
    Reading,
    Service,
    Teaching,
    Valuation,
)
from costing.core.running_cost import running_cost


# Y15-E2 and Y15-E3, status C: the rate that leaves the residual, and each year's charge.
@pytest.mark.parametrize(
    ("cost", "residual", "per_cent", "charges"),
    [
        (50_000, 10_000, "27.522034", ["13761.02", "9973.71", "7228.74", "5239.24", "3797.30"]),
        (18_000, 6_000, "24.016431", ["4322.96", "3284.74", "2495.86", "1896.44"]),
    ],
)
def test_reducing_balance_by_the_year(cost: int, residual: int, per_cent: str, charges: list[str]) -> None:
    years = len(charges)
    rate = 1 - (Decimal(residual) / cost) ** (1 / Decimal(years))
    left = [worth(cost * 100, rate, year * 365) for year in range(years + 1)]

    assert to_places(rate * 100, 6) == Decimal(per_cent)
    assert left[-1] == residual * 100
    # The published charges are each rounded by itself, these are differences of rounded worths.
    for (before, after), charge in zip(pairwise(left), charges, strict=True):
        assert before - after == pytest.approx(to_pence(Decimal(charge)), abs=1)


# Y15-E12, status C: 7,000 pounds a year are 35.00 pence a mile and 6.36 pounds a lesson hour.
def test_whole_cost_of_a_year() -> None:
    new_year, last = date(2027, 1, 1), date(2027, 12, 31)
    book = CarBook(
        service=Service(new_year, None),
        readings=(Reading(date(2026, 12, 31), 30_000), Reading(last, 50_000)),
        costs=(
            Cost(new_year, "insurance", 90_000, new_year, last),
            Cost(new_year, "vehicle_tax", 20_000, new_year, last),
            Cost(date(2027, 5, 4), "servicing", 39_500),
            Cost(date(2027, 5, 4), "mot", 5_500),
            Cost(date(2027, 6, 1), "tyres", 30_000),
        ),
        fills=(
            Fill(date(2026, 12, 31), 30_000, 40_000, "litre", 5_000, brimmed=True, gap_before=False),
            Fill(last, 50_000, 1_400_000, "litre", 190_000, brimmed=True, gap_before=False),
        ),
        teaching=(Teaching(new_year, last, 1_100, 66_000, 0),),
        # 12 x 700 and 250 on a credit of 8,000: 650 of interest, all of it inside the year.
        agreements=(Agreement(new_year, "pcp", 800_000, 0, 70_000, 12, final_payment=25_000),),
        valuations=(Valuation(last, 540_000),),
    )

    year = running_cost(book, Period(new_year, last), depreciation_rate=Decimal("0.15"))

    assert year.by_category == {
        "depreciation": 260_000,
        "fuel": 190_000,
        "insurance": 90_000,
        "interest": 65_000,
        "mot": 5_500,
        "servicing": 39_500,
        "tyres": 30_000,
        "vehicle_tax": 20_000,
    }
    assert year.true_cost == 700_000
    assert (year.miles, year.cost_per_mile) == (20_000, 35)
    assert (year.minutes, year.cost_per_lesson_hour) == (66_000, 636)
    assert (year.estimated, year.missing) == ((), ())
