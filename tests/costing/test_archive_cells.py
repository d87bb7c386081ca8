"""Cells are read exactly, and written in the one form that reads back the same."""

from datetime import date
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from config import quantities
from costing.archive.cells import DAY, EMAIL, FLAG, HOURS, MARK, MILES, NAME, NAMES, PAID, CellFault, Kind, of, text

QUANTITY, RATE = of(quantities.FILL), of(quantities.YEARLY_LOSS)
MOST_MILES, MOST_MINUTES = 999_999, 999_999 * 60
TEXT = text(500)

#: Text as a form may store it: any characters but the two no database and no file takes.
stored_text = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=60)


def there_and_back(kind: Kind, value: object) -> object:
    cell = kind.write(value)
    read = kind.read(cell)
    assert kind.write(read) == cell
    return read


#: What has a spreadsheet work a cell out, written out here a second time on purpose.
BEGINS_FORMULA = tuple("=+-@\t\r\n−＝＋－＠")  # noqa: RUF001 - full width, as East Asian keyboards have them
#: The kinds whose words are somebody's own, as often as not with what matters at their beginning.
WORDS = {"text": TEXT, "email": EMAIL, "name": NAME, "names": NAMES}
suspicious_text = st.builds(
    lambda quotes, begins, rest: "'" * quotes + begins + rest,
    st.integers(0, 3),
    st.sampled_from(["", *BEGINS_FORMULA]),
    stored_text,
)


@given(suspicious_text)
def test_any_words_come_back_and_begin_no_formula(words: str) -> None:
    tidy = TEXT.tidy(words)
    assert not TEXT.write(tidy).startswith(BEGINS_FORMULA)
    assert there_and_back(TEXT, tidy) == tidy


@pytest.mark.parametrize(
    ("kind", "value", "cell"),
    [
        ("text", "=HYPERLINK(A1)", "'=HYPERLINK(A1)"),
        ("text", "'=1", "''=1"),
        ("text", "''", "''"),
        ("text", "'tis", "'tis"),
        ("text", "−5 % off", "'−5 % off"),
        ("email", "=cmd@book.example", "'=cmd@book.example"),
        ("email", "+ann@book.example", "'+ann@book.example"),
        ("name", "-bulb", "'-bulb"),
        ("names", ("-bulb", "horn"), "'-bulb horn"),
    ],
)
def test_words_that_would_begin_a_formula_have_an_apostrophe_before_them(kind: str, value: object, cell: str) -> None:
    assert WORDS[kind].write(value) == cell
    assert there_and_back(WORDS[kind], value) == value


def test_a_number_is_no_formula_and_stays_plain() -> None:
    assert PAID.write(Decimal("-12.00")) == "-12.00"
    assert there_and_back(PAID, Decimal("-12.00")) == Decimal("-12.00")
    with pytest.raises(CellFault):
        PAID.read("'-12.00")


def test_what_a_hand_or_an_earlier_release_wrote_without_it_is_read_all_the_same() -> None:
    assert TEXT.read("=1+1") == "=1+1"
    assert TEXT.read("'=1+1") == "=1+1"
    assert TEXT.read("'tis") == "'tis"


@given(st.decimals(Decimal("-9999999.99"), Decimal("9999999.99"), places=2))
def test_money_comes_back_to_the_penny(amount: Decimal) -> None:
    assert there_and_back(PAID, amount) == amount


@given(st.decimals(Decimal("0.001"), Decimal("9999.999"), places=3))
def test_quantities_come_back_to_the_thousandth(quantity: Decimal) -> None:
    assert there_and_back(QUANTITY, quantity) == quantity


@given(st.decimals(0, Decimal("0.9999"), places=4))
def test_rates_come_back(rate: Decimal) -> None:
    assert there_and_back(RATE, rate) == rate


@given(st.integers(0, MOST_MINUTES))
def test_minutes_come_back_from_hours_of_two_decimals(minutes: int) -> None:
    assert there_and_back(HOURS, minutes) == minutes
    assert len(HOURS.show(minutes).partition(".")[2]) == 2


@given(st.decimals(0, 999_999, places=4))
def test_hours_are_rounded_half_up_to_the_minute(hours: Decimal) -> None:
    assert HOURS.parse(f"{hours:f}") == int((hours * 60).quantize(Decimal(1), ROUND_HALF_UP))


@given(st.dates(date(1980, 1, 1), date(2100, 12, 31)))
def test_days_come_back(day: date) -> None:
    assert there_and_back(DAY, day) == day


@given(st.booleans())
def test_flags_come_back(flag: bool) -> None:
    assert there_and_back(FLAG, flag) is flag


@given(st.integers(0, MOST_MILES))
def test_whole_numbers_come_back(number: int) -> None:
    assert there_and_back(MILES, number) == number


@given(stored_text)
def test_text_comes_back_as_it_is_tidied(words: str) -> None:
    tidy = TEXT.tidy(words)
    assume(tidy)
    assert there_and_back(TEXT, tidy) == tidy


@given(st.text(max_size=30))
def test_no_cell_breaks_a_reader(cell: str) -> None:
    for kind in (PAID, QUANTITY, RATE, HOURS, DAY, FLAG, EMAIL, MARK, MILES):
        try:
            value = kind.parse(cell)
        except CellFault:
            continue
        assert kind.parse(kind.show(value)) == value


@pytest.mark.parametrize(
    ("cell", "value", "shown"),
    [
        ("1234.5", "1234.50", "1234.50"),
        ("1234.56", "1234.56", "1234.56"),
        ("-20.00", "-20", "-20.00"),
        ("45", "45", "45.00"),
        ("007.10", "7.1", "7.10"),
        ("-0.00", "0", "0.00"),
    ],
)
def test_money_may_be_written_with_up_to_two_decimals(cell: str, value: str, shown: str) -> None:
    read = PAID.parse(cell)
    assert read == Decimal(value)
    assert PAID.show(read) == shown


@pytest.mark.parametrize(
    "cell",
    ["£12.00", "1,234.56", "12.345", "NaN", "1e3", "+5", ".5", "5.", "−5", "12 .00", "1_000", "٣", "--1"],
)
def test_anything_else_is_no_money(cell: str) -> None:
    with pytest.raises(CellFault):
        PAID.parse(cell)


@pytest.mark.parametrize(("quantity", "shown"), [("34.5", "34.50"), ("34.500", "34.50"), ("31.125", "31.125")])
def test_a_quantity_has_a_third_decimal_only_where_it_says_something(quantity: str, shown: str) -> None:
    assert QUANTITY.show(Decimal(quantity)) == shown


@pytest.mark.parametrize(
    ("hours", "minutes"),
    [("0.33", 20), ("1.5", 90), ("26", 1560), ("0.008", 0), ("0.00833333333", 0), ("0.0084", 1)],
)
def test_hours_become_whole_minutes(hours: str, minutes: int) -> None:
    assert HOURS.parse(hours) == minutes


@pytest.mark.parametrize(("mark", "stored"), [("qa51 abc", "QA51ABC"), ("QA51-ABC", "QA51ABC"), ("q1", "Q1")])
def test_a_mark_is_stored_in_capitals_without_spaces(mark: str, stored: str) -> None:
    assert MARK.parse(mark) == stored


def test_an_address_is_stored_in_small_letters() -> None:
    assert EMAIL.parse("Ann.O@Book.Example") == "ann.o@book.example"


def test_text_is_stored_with_plain_line_ends_and_without_space_around_it() -> None:
    assert TEXT.parse("  one\r\ntwo\rthree\n") == "one\ntwo\nthree"
    assert TEXT.tidy("\u00a0one\r\n") == "one"
