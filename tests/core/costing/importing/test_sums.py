"""Sums and hours as people and banks write them."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.importing.core.hours import read_minutes
from costing.importing.core.sums import Sum, read_sums


def one(text: str, **options: bool) -> Sum | str | None:
    return read_sums([text], places=2, **options)[0]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        *[("12.50", "12.50"), ("£12.50", "12.50"), ("1,234.56", "1234.56"), ("£ 1,234.56", "1234.56"), ("12", "12")],
        *[
            ("(12.50)", "-12.50"),
            ("12.50-", "-12.50"),
            ("-12.50", "-12.50"),
            ("−12.50", "-12.50"),
            ("£-12.50", "-12.5"),
        ],
        *[
            ("-£12.50", "-12.50"),
            ("1 234.50", "1234.50"),
            ("12.50 GBP", "12.50"),
            ("GBP 12.50", "12.50"),
            (".5", "0.5"),
        ],
        *[("99p", "0.99"), ("12.", "12"), ("+3", "3"), ("-0", "0"), ("£(3.00)", None), ("0012.50", "12.50")],
    ],
)
def test_a_sum_is_written_in_many_ways(text: str, value: str | None) -> None:
    read = one(text)
    assert isinstance(read, Sum) == (value is not None)
    if isinstance(read, Sum):
        assert read == Sum(Decimal(str(value)))


@pytest.mark.parametrize(
    ("text", "mark"), [("5 DR", "out"), ("5Cr", "in"), ("5.00 D", "out"), ("5 c", "in"), ("5", "")]
)
def test_a_bank_marks_which_way_money_went(text: str, mark: str) -> None:
    assert one(text) == Sum(Decimal(5), mark)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        *[("€5", "not in pounds"), ("5 USD", "not in pounds"), ("1e9", "not a number"), ("(5", "not a number")],
        *[("+-5", "not a number"), ("--5", "not a number"), ("(-5)", "not a number"), (".", "for certain")],
        *[
            ("1,23", "come after a point"),
            ("1.234", "more than 2"),
            ("9" * 16, "too many digits"),
            ("1.2.3", "for certain"),
        ],
        *[("x" * 99, "…” is not a number")],
    ],
)
def test_what_is_no_sum_says_why(text: str, why: str) -> None:
    # Beside another, so that the column has a point before its decimals.
    read = read_sums([text, "1.50"], places=2)[0]
    assert isinstance(read, str)
    assert why in read


def test_whole_numbers_have_no_decimals() -> None:
    assert read_sums(["1,234", "5.5", "5.0"], places=0) == [Sum(Decimal(1234)), "“5.5” is not whole", Sum(Decimal(5))]


def test_nothing_is_nothing() -> None:
    assert read_sums(["", " ", "-", "–"], places=2) == [None] * 4


def test_a_comma_parts_the_decimals_only_if_the_whole_column_says_so() -> None:
    assert read_sums(["1.234,56", "12,50", "7"], places=2) == [Sum(Decimal(n)) for n in ("1234.56", "12.50", "7")]
    assert read_sums(["1,234", "5,678"], places=2) == [Sum(Decimal(1234)), Sum(Decimal(5678))]
    assert isinstance(read_sums(["1.234", "2.500"], places=2)[0], str)
    mixed = read_sums(["1.50", "12,50"], places=2)
    assert mixed[0] == Sum(Decimal("1.50"))
    assert isinstance(mixed[1], str)


def test_a_column_of_pence_is_pounds() -> None:
    assert read_sums(["1250", "99"], places=2, in_pence=True) == [Sum(Decimal("12.50")), Sum(Decimal("0.99"))]


@given(st.lists(st.decimals(-99_999, 99_999, places=2)))
def test_sums_as_a_spreadsheet_shows_them_are_read_as_they_are(sums: list[Decimal]) -> None:
    assert read_sums([f"£{one:,.2f}" for one in sums], places=2) == [Sum(one or abs(one)) for one in sums]


@given(st.lists(st.decimals(0, 99_999, places=2), min_size=1))
def test_sums_with_a_comma_too(sums: list[Decimal]) -> None:
    swapped = [f"{one:,.2f}".translate(str.maketrans(",.", ".,")) for one in sums]
    assert read_sums(swapped, places=2) == [Sum(one) for one in sums]


@given(st.lists(st.text("0123456789.,-()£ pdrc", max_size=14) | st.text(max_size=9)), st.sampled_from([0, 2, 3]))
def test_whatever_stands_there_is_a_sum_or_words(cells: list[str], places: int) -> None:
    for one in read_sums(cells, places=places):
        assert one is None or isinstance(one, str) or one.value == round(one.value, places)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        *[
            ("1.5", 90),
            ("1:30", 90),
            ("90 min", 90),
            ("1h 30", 90),
            ("1 hr 30 mins", 90),
            ("1h30m", 90),
            ("2 hours", 120),
        ],
        *[("01:30:00", 90), ("90m", 90), ("0", 0), (".5", 30), ("2.", 120), ("1.25 h", 75), ("", None), ("  ", None)],
    ],
)
def test_hours_are_written_in_many_ways(text: str, minutes: int | None) -> None:
    assert read_minutes(text) == minutes


def test_minutes_are_told_by_their_column() -> None:
    assert read_minutes("90", in_minutes=True) == 90


@pytest.mark.parametrize("text", ["x", "1,5", "1:75", "h", "-1", "1e3"])
def test_what_is_no_hours_says_so(text: str) -> None:
    assert isinstance(read_minutes(text), str)
