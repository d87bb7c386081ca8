"""Median and MAD against the standard library and scipy; the usual range against the modified z-score."""

import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation

from fleet.core.plausible.scatter import CUT_OFF, Range, deviation, median, usual_range

VALUES = st.lists(st.integers(-(10**6), 10**6), min_size=1, max_size=60)


@given(VALUES)
def test_the_median_is_that_of_statistics(values):
    assert median(values) == statistics.median(values)


@given(VALUES)
def test_the_deviation_is_that_of_scipy(values):
    mad = float(median_abs_deviation(values))
    if mad:
        assert float(deviation(values)) == pytest.approx(mad / 0.6745)
    else:
        around = statistics.median(values)
        mean = statistics.fmean(abs(value - around) for value in values)
        assert float(deviation(values)) == pytest.approx(1.253314 * mean)


def is_held(value: int, usual: Range) -> bool:
    return usual.low <= value <= usual.high


@given(VALUES, st.integers(-(10**7), 10**7))
def test_a_value_is_usual_if_its_modified_z_score_is_at_most_the_cut_off(values, value):
    usual, sigma = usual_range(values, floor_percent=0), deviation(values)
    if usual is None:
        assert len(values) < 5
    elif not sigma:
        assert is_held(value, usual) is (value == median(values))
    elif abs(value - median(values)) / sigma <= CUT_OFF:
        assert is_held(value, usual)
    else:
        assert not is_held(value, usual) or value in (usual.low, usual.high), (
            "only the rounding to whole numbers is wider"
        )


def test_a_regular_member_has_room_and_a_few_values_say_nothing():
    assert usual_range([100] * 9, floor_percent=20) == (80, 100, 120)
    assert usual_range([100] * 9, floor_percent=0, least=7) == (93, 100, 107)
    assert usual_range([100] * 4, floor_percent=20) is None
