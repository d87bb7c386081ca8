from datetime import date
from decimal import Decimal

import pytest

from costing.core.economy import Economy, Stretch, economy, in_order, stretches
from costing.core.money import to_places
from costing.core.records import Fill, Period, Unit

MARCH = Period(date(2027, 3, 1), date(2027, 3, 31))


def fill(day: int, miles: int, litres: int, *, brimmed: bool = True, gap: bool = False) -> Fill:
    return Fill(date(2027, 3, day), miles, litres * 1_000, "litre", 5_000, brimmed, gap)


def charge(day: int, miles: int, kwh: int) -> Fill:
    return Fill(date(2027, 3, day), miles, kwh * 1_000, "kwh", 900, brimmed=True, gap_before=False)


def pooled(fills: list[Fill], unit: Unit = "litre", period: Period = MARCH) -> tuple[int, int] | None:
    """Miles and whole litres or kWh of the stretches that end in ``period``."""
    figures = economy(stretches(in_order(fills), unit), unit, period)
    return None if figures is None else (figures.miles, figures.thousandths // 1_000)


def test_what_was_put_in_after_the_first_brim_moved_the_car_to_the_second() -> None:
    assert pooled([fill(1, 1_000, 35), fill(9, 1_400, 38)]) == (400, 38)


def test_a_partial_fill_is_added_to_the_next_full_one() -> None:
    assert pooled([fill(1, 1_000, 35), fill(4, 1_150, 10, brimmed=False), fill(9, 1_400, 28)]) == (400, 38)


def test_a_partial_fill_at_the_end_waits_for_its_brim() -> None:
    assert pooled([fill(1, 1_000, 35), fill(9, 1_400, 38), fill(12, 1_500, 9, brimmed=False)]) == (400, 38)


def test_a_first_fill_alone_says_nothing() -> None:
    assert pooled([fill(1, 1_000, 35), fill(5, 1_100, 9, brimmed=False)]) is None


def test_a_missed_fill_drops_the_stretch_and_a_full_one_starts_the_next() -> None:
    fills = [fill(1, 1_000, 35), fill(9, 1_800, 38, gap=True), fill(15, 2_200, 40)]

    assert pooled(fills) == (400, 40)


def test_a_missed_fill_in_a_stretch_drops_it_and_the_next_full_one_starts_anew() -> None:
    fills = [
        fill(1, 1_000, 35),
        fill(5, 1_500, 12, brimmed=False, gap=True),
        fill(9, 1_800, 38),
        fill(15, 2_200, 40),
    ]

    assert pooled(fills) == (400, 40)


def test_a_period_counts_the_stretches_that_end_in_it() -> None:
    fills = [fill(1, 1_000, 35), fill(9, 1_400, 38), fill(20, 1_900, 45), fill(28, 2_000, 11)]

    assert pooled(fills, period=Period(date(2027, 3, 9), date(2027, 3, 20))) == (900, 83)
    assert pooled(fills, period=Period(date(2027, 3, 10), date(2027, 3, 19))) is None


def test_petrol_and_charge_are_chains_of_their_own() -> None:
    fills = [fill(1, 1_000, 35), charge(2, 1_050, 30), charge(6, 1_190, 40), fill(9, 1_400, 20)]

    assert pooled(fills) == (400, 20)
    assert pooled(fills, unit="kwh") == (140, 40)


def test_two_fills_at_one_stop_are_taken_with_the_brim_last() -> None:
    fills = [fill(9, 1_400, 10), fill(9, 1_400, 28, brimmed=False), fill(1, 1_000, 35)]

    assert pooled(fills) == (400, 38)


def test_fills_are_ordered_by_day_and_then_odometer() -> None:
    late, early, evening = fill(9, 1_400, 1), fill(1, 1_000, 2), fill(1, 1_090, 3)

    assert in_order([late, evening, early]) == [early, evening, late]


def test_figures_of_a_petrol_car() -> None:
    figures = Economy("litre", miles=400, thousandths=38_000)

    # 400 / 38 x 4.54609 and 38 / (400 x 1.609344) x 100, by hand.
    assert to_places(figures.miles_per_gallon or Decimal(0), 3) == Decimal("47.854")
    assert to_places(figures.litres_per_100_km or Decimal(0), 3) == Decimal("5.903")
    assert (figures.miles_per_kwh, figures.kwh_per_100_km) == (None, None)


def test_figures_of_an_electric_car() -> None:
    figures = Economy("kwh", miles=140, thousandths=40_000)

    assert figures.miles_per_kwh == Decimal("3.5")
    assert to_places(figures.kwh_per_100_km or Decimal(0), 2) == Decimal("17.75")
    assert (figures.miles_per_gallon, figures.litres_per_100_km) == (None, None)


def test_two_brims_at_one_odometer_are_no_economy_of_nothing() -> None:
    stood = [Stretch(date(2027, 3, 1), date(2027, 3, 2), 0, 900)]
    drove = Stretch(date(2027, 3, 2), date(2027, 3, 9), 400, 40_000)
    march = Period(date(2027, 3, 1), date(2027, 3, 31))

    assert economy(stood, "litre", march) is None
    assert economy([*stood, drove], "litre", march) == Economy("litre", 400, 40_900)


@pytest.mark.parametrize("unit", ["litre", "kwh"])
def test_nothing_is_divided_by_nothing(unit: Unit) -> None:
    figures = Economy(unit, miles=0, thousandths=0)

    assert (figures.miles_per_gallon, figures.litres_per_100_km) == (None, None)
    assert (figures.miles_per_kwh, figures.kwh_per_100_km) == (None, None)
