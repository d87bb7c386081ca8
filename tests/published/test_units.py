"""Fuel economy in miles per gallon, litres per 100 km and miles per kWh.

Source of the factors: the imperial gallon is 4.54609 litres (Units of Measurement Regulations 1995,
SI 1995/1804, Schedule: FROM MEMORY) and the mile 1.609344 km (Weights and Measures Act 1985,
section 1: FROM MEMORY). The examples U3-E1 to U3-E9 are arithmetic on them, of status C.
"""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from costing.core.economy import KILOMETRES_PER_MILE, LITRES_PER_GALLON, Economy, economy, in_order, stretches
from costing.core.money import divide_half_up, to_places
from costing.core.records import Fill, Period

MARCH = Period(date(2027, 3, 1), date(2027, 3, 31))


def two_places(figure: Decimal | None) -> str:
    assert figure is not None
    return str(to_places(figure, 2))


def fill(day: int, miles: int, thousandths: int, *, brimmed: bool = True) -> Fill:
    return Fill(date(2027, 3, day), miles, thousandths, "litre", 0, brimmed, gap_before=False)


def pooled(*fills: Fill) -> Economy:
    figures = economy(stretches(in_order(fills), "litre"), "litre", MARCH)
    assert figures is not None
    return figures


# U3-4, status C, from the factors above: 100 x 4.54609 / 1.609344 to twelve figures.
def test_product_of_the_two_consumption_figures() -> None:
    assert to_places(100 * LITRES_PER_GALLON / KILOMETRES_PER_MILE, 9) == Decimal("282.480936332")


# U3-E1, E2, E3, status C. 25,000 miles are 40,233.6 km exactly, so that litres come out whole.
@pytest.mark.parametrize(("litres_per_100_km", "mpg"), [("5.0", "56.50"), ("6.0", "47.08"), ("10.0", "28.25")])
def test_litres_per_100_km_as_miles_per_gallon(litres_per_100_km: str, mpg: str) -> None:
    figures = Economy("litre", 25_000, int(Decimal(litres_per_100_km) * 402_336))

    assert figures.litres_per_100_km == Decimal(litres_per_100_km)
    assert two_places(figures.miles_per_gallon) == mpg


# U3-E4, status C. One hundred gallons are 454,609 thousandths of a litre.
@pytest.mark.parametrize(
    ("mpg", "litres_per_100_km"), [(30, "9.42"), (40, "7.06"), (45, "6.28"), (50, "5.65"), (60, "4.71")]
)
def test_miles_per_gallon_as_litres_per_100_km(mpg: int, litres_per_100_km: str) -> None:
    figures = Economy("litre", mpg * 100, 454_609)

    assert figures.miles_per_gallon == mpg
    assert two_places(figures.litres_per_100_km) == litres_per_100_km


# U3-E5 and U3-E6, status C: brim to brim.
@pytest.mark.parametrize(
    ("miles", "thousandths", "mpg", "litres_per_100_km"),
    [(400, 38_200, "47.60", "5.93"), (412, 41_500, "45.13", "6.26")],
)
def test_brim_to_brim(miles: int, thousandths: int, mpg: str, litres_per_100_km: str) -> None:
    figures = pooled(fill(1, 20_000, 30_000), fill(9, 20_000 + miles, thousandths))

    assert two_places(figures.miles_per_gallon) == mpg
    assert two_places(figures.litres_per_100_km) == litres_per_100_km


# U3-E5, status C: 38.20 litres at 133.9 pence are 51.1498 pounds, 12.78745 pence a mile.
def test_cost_of_a_tank_and_of_a_mile_on_it() -> None:
    pence = Fraction(38_200, 1_000) * Fraction("133.9")

    assert divide_half_up(pence, 1) == 5_115
    assert to_places(pence / 400, 2) == Decimal("12.79")


# U3-E7, status C: miles and litres are pooled; the mean of the two tanks' figures, 45.46, is wrong.
def test_two_tanks_are_pooled_not_averaged() -> None:
    figures = pooled(fill(1, 20_000, 30_000), fill(9, 20_220, 20_000), fill(17, 20_580, 40_000))

    assert figures == ("litre", 580, 60_000)
    assert two_places(figures.miles_per_gallon) == "43.95"


# U3-E8, status C.
def test_miles_per_kwh_as_kwh_per_100_km() -> None:
    figures = Economy("kwh", 3_500, 1_000_000)

    assert figures.miles_per_kwh == Decimal("3.5")
    assert two_places(figures.kwh_per_100_km) == "17.75"


# U3-E9, status C: a partial fill's litres go to the next full fill, with no figure of its own.
def test_a_partial_fill_counts_with_the_next_full_one() -> None:
    figures = pooled(fill(1, 20_000, 30_000), fill(5, 20_250, 15_000, brimmed=False), fill(9, 20_412, 26_500))

    assert figures == ("litre", 412, 41_500)
    assert two_places(figures.miles_per_gallon) == "45.13"
