"""Numbers, axes, shares and places, from which every drawing is made."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from config.charts.marks import number
from config.charts.scales import MOST_LEVELS, axis_money, change_money, levels, shares_of_100, short_money, spread
from config.charts.text import fitted, width_of


def test_pence_of_each_pound_add_up_to_a_hundred() -> None:
    assert sum(shares_of_100([1, 1, 1])) == 100
    assert shares_of_100([11579, 17895, 2316, 7684, 2105, 1474, 2737, 2421]) == [24, 37, 5, 16, 4, 3, 6, 5]
    assert shares_of_100([]) == []


@given(st.lists(st.integers(0, 10**9), min_size=1).filter(any))
def test_shares_are_never_further_off_than_one(amounts: list[int]) -> None:
    shares = shares_of_100(amounts)
    assert sum(shares) == 100
    assert all(abs(share - 100 * amount / sum(amounts)) < 1 for share, amount in zip(shares, amounts, strict=True))


@given(st.integers(-(10**9), 0), st.integers(1, 10**9))
def test_an_axis_has_at_most_three_hairlines_and_never_nought(low: int, high: int) -> None:
    found = levels(low, high)
    assert len(found) <= MOST_LEVELS
    assert 0 not in found
    assert all(low <= level <= high for level in found)


def test_sums_in_few_letters() -> None:
    assert [axis_money(pence) for pence in (50, 200, 150, 10_000_00, -20_00)] == ["50p", "£2", "£1.50", "£10k", "−£20"]
    assert [short_money(pence) for pence in (95_000, 999_49, 999_50, 33_456_00, -1_20)] == [
        *("£950", "£999", "£1k", "£33.5k", "−£1"),
    ]


@given(st.lists(st.floats(0, 100), min_size=1, max_size=9).map(sorted))
def test_places_that_make_room_for_each_other_keep_their_order_and_limits(wanted: list[float]) -> None:
    places = spread(wanted, 10, 0, 100)
    assert all(after - before >= 10 - 1e-9 for before, after in pairwise(places))
    assert places[0] >= -1e-9
    assert places[-1] <= 100 + 1e-9


def test_places_with_room_stay_where_they_are() -> None:
    assert spread([5, 50, 95], 10, 0, 100) == [5, 50, 95]
    assert spread([50, 50], 10, 0, 100) == [45, 55]


def test_a_number_is_written_as_svg_has_it() -> None:
    assert [number(value) for value in (0, -0.04, 1234.5, 12, 0.25, 1e6)] == [
        "0",
        "0",
        "1234.5",
        "12",
        "0.2",
        "1000000",
    ]


def test_changes_have_their_sign() -> None:
    assert [change_money(pence) for pence in (10, -47, 120, -100_00)] == ["+10p", "−47p", "+£1.20", "−£100.00"]


def test_a_text_is_cut_where_it_does_not_fit() -> None:
    assert fitted("Ravi Senanayake", 1_000) == "Ravi Senanayake"
    cut = fitted("Ravi Senanayake", 60)
    assert cut.endswith("…")
    assert width_of(cut) <= 60
    assert fitted("Ravi", 1) == ""


def test_wide_scripts_have_room() -> None:
    assert width_of("漢字") > width_of("ab")
    assert width_of("Tax", is_bold=True) > width_of("Tax")
