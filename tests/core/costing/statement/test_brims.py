"""Brims one by one, the running mean of what they pool, and the band of those before."""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.economy import Economy, Stretch
from costing.core.records import Period, Unit
from costing.statement.core.brims import POOLED, brims_of, hundredths
from fleet.core.plausible.scatter import deviation, median

START = date(2027, 1, 1)
ALWAYS = Period(START, date(2028, 12, 31))


def stretch(week: int, miles: int, litres: int) -> Stretch:
    ends_on = START + timedelta(weeks=week)
    return Stretch(ends_on - timedelta(weeks=1), ends_on, miles, litres * 1_000)


def weeks_to(last: int) -> Period:
    return Period(START, START + timedelta(weeks=last))


def test_the_running_mean_pools_miles_and_fuel_of_the_last_five() -> None:
    found = [stretch(week, 100 * week, 10 + week) for week in range(1, 8)]
    told = brims_of(found, "litre", ALWAYS)
    assert told is not None
    assert [brim.mean.miles for brim in told.brims] == [100, 300, 600, 1_000, 1_500, 2_000, 2_500]
    assert [brim.mean.thousandths for brim in told.brims][-1] == 1_000 * (13 + 14 + 15 + 16 + 17)
    assert [brim.pooled for brim in told.brims] == [1, 2, 3, 4, 5, 5, 5]
    assert (told.brims[0].own, told.brims[0].put_in) == (Economy("litre", 100, 11_000), 11)


def test_the_mean_of_the_first_brim_of_a_span_reaches_back_before_it() -> None:
    found = [stretch(week, 400, 40) for week in range(1, 5)] + [stretch(5, 900, 40)]
    told = brims_of(found, "litre", Period(START + timedelta(weeks=5), ALWAYS.last))
    assert told is not None
    assert [brim.mean for brim in told.brims] == [Economy("litre", 2_500, 200_000)]


@pytest.mark.parametrize(
    ("economy", "figure"),
    # 580 miles on 60 litres are 43.95 miles a gallon (U3-E7); 412 on 41.5 litres 45.13; 3,500 on 1,000 kWh are 3.5.
    [
        (Economy("litre", 580, 60_000), 4_395),
        (Economy("litre", 412, 41_500), 4_513),
        (Economy("kwh", 3_500, 1_000_000), 350),
    ],
)
def test_a_figure_is_miles_a_gallon_or_a_kwh(economy: Economy, figure: int) -> None:
    assert hundredths(economy) == figure


def test_the_band_is_that_of_the_brims_before_the_last_five() -> None:
    """350, 360, 370, 380, 390 and 400: the median is 375, the middle distance 15, and 15/0.6745 a deviation."""
    before = [Stretch(START, START + timedelta(days=day), 340 + 10 * day, 100_000) for day in range(1, 7)]
    later = [Stretch(START, START + timedelta(days=day), 200, 100_000) for day in range(20, 25)]
    told = brims_of([*before, *later], "kwh", weeks_to(4))
    assert told is not None
    assert len(told.brims) == 11
    assert told.before == 6
    assert told.usual == (331, 419)  # 375 - 44.48 and 375 + 44.48


def test_days_that_end_together_have_one_band_however_many_they_are() -> None:
    found = [stretch(week, 380 + 7 * week % 40, 40) for week in range(1, 60)]
    month, year = (brims_of(found, "litre", Period(START + timedelta(weeks=w), weeks_to(59).last)) for w in (55, 7))
    assert month is not None
    assert year is not None
    assert (month.before, month.usual) == (year.before, year.usual)
    assert month.usual is not None
    assert month.before == 24


def test_a_few_brims_have_no_band_and_an_old_one_is_forgotten() -> None:
    before = [stretch(week, 400, 40) for week in range(1, 5)]
    last = [stretch(week, 380, 40) for week in range(5, 10)]
    told = brims_of([*before, *last], "litre", weeks_to(9))
    assert told is not None
    assert (told.before, told.usual) == (4, None)
    old = [stretch(week, 4_000, 40) for week in range(1, 30)]
    lately = [stretch(week, 400, 40) for week in range(30, 54)]
    told = brims_of([*old, *lately, *(stretch(week, 380, 40) for week in range(54, 59))], "litre", weeks_to(58))
    assert told is not None
    assert (told.before, told.usual) == (24, (4_546, 4_546))


def test_of_what_is_usual_a_brim_more_than_a_year_ago_tells_nothing() -> None:
    old = [stretch(week, 400, 40) for week in range(1, 8)]
    last = [stretch(week, 380, 40) for week in range(70, 75)]
    told = brims_of([*old, *last], "litre", weeks_to(74))
    assert told is not None
    assert (told.before, told.usual) == (0, None)


def test_scattered_brims_have_a_band_that_does_not_go_below_nothing() -> None:
    before = [stretch(week, miles, 40) for week, miles in enumerate((1, 900, 5, 800, 3, 700), start=1)]
    told = brims_of([*before, *(stretch(week, 400, 40) for week in range(7, 12))], "litre", weeks_to(11))
    assert told is not None
    assert told.usual is not None
    assert told.usual[0] == 0


def test_what_tells_nothing_is_left_out() -> None:
    nothing = [stretch(1, 0, 40), stretch(2, 400, 0)]
    assert brims_of(nothing, "litre", ALWAYS) is None
    told = brims_of([*nothing, stretch(3, 400, 40)], "litre", ALWAYS)
    assert told is not None
    assert [brim.mean for brim in told.brims] == [Economy("litre", 400, 40_000)]
    assert brims_of([stretch(3, 400, 40)], "litre", Period(START, START)) is None


@given(
    st.lists(st.tuples(st.integers(-5, 2_000), st.integers(0, 90)), max_size=40),
    st.sampled_from(["litre", "kwh"]),
    st.integers(0, 40),
)
def test_every_brim_of_the_span_is_there_and_means_lie_between_their_own(
    rows: list[tuple[int, int]], unit: Unit, since: int
) -> None:
    found = [stretch(week, miles, litres) for week, (miles, litres) in enumerate(rows, start=1)]
    period = Period(START + timedelta(weeks=since), ALWAYS.last)
    told = brims_of(found, unit, period)
    usable = [one for one in found if one.miles > 0 and one.thousandths > 0]
    if told is None:
        assert all(one.ends_on < period.first for one in usable)
        return
    assert [brim.stretch for brim in told.brims] == [one for one in usable if one.ends_on >= period.first]
    for brim in told.brims:
        at = usable.index(brim.stretch)
        pooled = usable[max(0, at + 1 - POOLED) : at + 1]
        own = [Fraction(one.miles, one.thousandths) for one in pooled]
        assert min(own) <= Fraction(brim.mean.miles, brim.mean.thousandths) <= max(own)
    before = [hundredths(Economy(unit, one.miles, one.thousandths)) for one in usable if one.ends_on < period.first]
    if told.usual and deviation(before[-24:]):
        assert told.usual[0] <= median(before[-24:]) <= told.usual[1]
