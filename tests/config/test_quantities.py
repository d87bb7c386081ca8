"""Each quantity has one type, one set of bounds and one set of words, wherever a value of it comes from."""

from argparse import ArgumentTypeError
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from config import quantities
from config.commands import argument
from config.fields import DayField, EmailField, HoursField, NumberField, QuantityField
from config.quantities import Number
from costing.archive.cells import CellFault, of
from costing.choosing.document.figures import Figure, Money, Share
from costing.choosing.document.schema import LISTS, TABLES
from fleet.core import registration
from instructors.models import CLOSING_DAY, CONTRIBUTORS, REMINDER_HOUR

#: Every number the book takes, by its name.
NUMBERS = {name: one for name, one in vars(quantities).items() if isinstance(one, Number)} | {
    "CLOSING_DAY": CLOSING_DAY,
    "CONTRIBUTORS": CONTRIBUTORS,
    "REMINDER_HOUR": REMINDER_HOUR,
}
#: What no number is: powers, other alphabets' digits, endless ones, and signs in odd places.
NO_NUMBERS = [
    "1e5",
    "1e99999999",
    "٣",
    "nan",
    "inf",
    "--1",
    "1_000",
    "0x1f",
    "+5",
    "1,00",
    "1.2.3",
    "½",
    "a\0b",
    "9" * 41,
]

ANY_NUMBER = st.one_of(
    st.text(max_size=12),
    st.from_regex(r"-?[0-9]{1,14}(\.[0-9]{1,9})?", fullmatch=True),
    st.decimals(-(10**9), 10**9, places=4).map(lambda value: f"{value:f}"),
    st.sampled_from(NO_NUMBERS),
)
numbers = st.sampled_from(sorted(NUMBERS)).map(NUMBERS.__getitem__)


def taken(take: Callable[[Any], Any], value: Any) -> tuple[str, Any]:
    """What an adapter makes of a value: ("taken", the value), or ("refused", the words)."""
    try:
        return "taken", take(value)
    except (ArgumentTypeError, CellFault, quantities.Wrong) as wrong:
        return "refused", str(wrong)
    except ValidationError as wrong:
        return "refused", wrong.messages[0]


@st.composite
def quantity_and_value(draw: st.DrawFn) -> tuple[Number, Any]:
    quantity = draw(numbers)
    if quantity.places:
        return quantity, draw(st.decimals(quantity.least, quantity.most, places=quantity.places))
    return quantity, draw(st.integers(int(quantity.least), int(quantity.most)))


@given(quantity_and_value())
def test_a_number_comes_back_through_cell_field_argument_and_key(drawn: tuple[Number, Any]) -> None:
    quantity, value = drawn
    text = quantity.write(value)
    for take in (of(quantity).read, argument(quantity.read), NumberField(quantity, max_length=40).clean):
        read = take(text)
        assert read == value
        assert type(read) is type(value)
        assert quantity.write(read) == text
    assert quantity.check(value) == value


@given(numbers, ANY_NUMBER)
def test_a_cell_and_an_argument_take_the_same_texts_and_a_field_takes_them_too(quantity: Number, text: str) -> None:
    cell, arg = taken(of(quantity).read, text), taken(argument(quantity.read), text)
    assert cell[0] == arg[0]
    if cell[0] == "taken":
        assert cell[1] == arg[1] == taken(NumberField(quantity, max_length=40).clean, text)[1]
    else:
        words = taken(quantity.read, text)[1]
        assert cell[1].endswith(words)
        assert arg[1].endswith(words)


@pytest.mark.parametrize("name", sorted(NUMBERS))
def test_every_adapter_refuses_in_the_same_words_just_beyond_the_bounds(name: str) -> None:
    quantity = NUMBERS[name]
    step = Decimal(1).scaleb(-quantity.places)
    for bound, beyond in ((quantity.least, quantity.least - step), (quantity.most, quantity.most + step)):
        exact = quantity.check(int(bound) if not quantity.places else Decimal(bound))
        field = NumberField(quantity, max_length=40)
        assert of(quantity).read(f"{bound}") == argument(quantity.read)(f"{bound}") == field.clean(f"{bound}") == exact
        words = taken(quantity.check, int(beyond) if not quantity.places else beyond)[1]
        assert words.startswith(("is less than ", "is more than "))
        assert taken(of(quantity).read, f"{beyond}") == ("refused", f'"{beyond}" {words}')
        assert taken(argument(quantity.read), f"{beyond}") == ("refused", f"'{beyond}' {words}")
        assert taken(field.clean, f"{beyond}") == ("refused", f"This {words}.")


@pytest.mark.parametrize("text", NO_NUMBERS)
@pytest.mark.parametrize(
    "quantity", [quantities.MILES, quantities.PAID, quantities.HOURS], ids=["miles", "paid", "hours"]
)
def test_what_is_no_number_is_none_anywhere(quantity: Any, text: str) -> None:
    field = HoursField() if quantity is quantities.HOURS else NumberField(quantity)
    for take in (of(quantity).read, argument(quantity.read), field.clean):
        result, words = taken(take, text)
        assert result == "refused"
        assert "Ensure" not in words


@pytest.mark.parametrize(
    ("typed", "pounds"),
    [
        ("£1,234.5", "1234.50"),
        (" 12 . 00 ", "12"),
        ("1\u00a0234", "1234"),
        ("−5", "-5"),
        ("5.", "5"),
        (".5", "0.5"),
        ("-.5", "-0.5"),
    ],
)
def test_a_person_may_write_a_sum_as_people_do_and_a_file_may_not(typed: str, pounds: str) -> None:
    assert NumberField(quantities.PAID).clean(typed) == Decimal(pounds)
    assert taken(of(quantities.PAID).read, typed)[0] == "refused"


def test_trailing_noughts_are_no_decimals_anywhere() -> None:
    assert of(quantities.PAID).read("45.200") == NumberField(quantities.PAID).clean("45.200") == Decimal("45.20")
    assert of(quantities.MILES).read("48210.0") == NumberField(quantities.MILES).clean("48,210.0") == 48_210


@given(st.dates())
def test_a_day_is_the_same_day_wherever_it_comes_from(day: date) -> None:
    takes = [of(quantities.DAY).read, argument(quantities.DAY.read), DayField(may_be_ahead=True).clean]
    is_good = quantities.DAY.least <= day <= quantities.DAY.most
    assert [taken(take, day.isoformat())[0] for take in takes] == ["taken" if is_good else "refused"] * 3
    assert taken(quantities.DAY.check, day)[0] == ("taken" if is_good else "refused")
    if is_good:
        assert {take(quantities.DAY.write(day)) for take in takes} == {day}


@given(st.dates(quantities.DAY.least, quantities.DAY.most))
def test_a_month_comes_back(day: date) -> None:
    first = day.replace(day=1)
    text = quantities.MONTH.write(first)
    assert of(quantities.MONTH).read(text) == argument(quantities.MONTH.read)(text) == first


@given(st.integers(0, 999_999 * 60))
def test_minutes_come_back_by_the_clock_and_as_decimal_hours(minutes: int) -> None:
    text = quantities.HOURS.write(minutes)
    assert (
        of(quantities.HOURS).read(text) == argument(quantities.HOURS.read)(text) == HoursField().clean(text) == minutes
    )
    assert HoursField().clean(f"{minutes // 60}:{minutes % 60:02}") == minutes


@given(st.from_regex(r"[A-Za-z0-9]{2,8}", fullmatch=True), st.sampled_from(["", " ", "-", "\u00a0"]))
def test_a_mark_is_the_same_mark_wherever_it_comes_from(mark: str, gap: str) -> None:
    text = f"{mark[:2]}{gap}{mark[2:]}" if len(mark) > 2 else mark
    for take in (argument(registration.read), QuantityField(registration.read).clean):
        assert take(text) == mark.upper()


@pytest.mark.parametrize("text", ["", "A", "QA51ABCDE", "QA51_ABC", "ЯA51ABC", "QA51Aß"])
def test_what_is_no_mark_is_none_in_a_command_or_on_a_page(text: str) -> None:
    words = taken(argument(registration.read), text)[1]
    assert "is not a registration mark: write 2 to 8 letters and digits, as in QA51 ABC" in words
    assert text == "" or taken(QuantityField(registration.read).clean, text)[0] == "refused"


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("Ann.O@Book.Example", "taken"),
        ("ann@łąkowska.example", "taken"),
        ("ann at book", "refused"),
        (f"{'a' * 250}@book.example", "refused"),
        # Short as it is typed, and too long for a mail as it is sent: one part of the host, and all of it.
        (f"ann@{'ü' * 60}.example", "refused"),
        (f"ann@{'.'.join(['łąkowska' * 4] * 6)}.example", "refused"),
    ],
)
def test_an_address_is_the_same_address_wherever_it_comes_from(text: str, result: str) -> None:
    for take in (of(quantities.EMAIL).read, argument(quantities.EMAIL.read), EmailField().clean):
        assert taken(take, text)[0] == result
        assert result == "refused" or take(text) == text.lower()


def test_a_key_of_a_document_has_the_quantitys_own_words() -> None:
    assert Money().take(Decimal("12.50")) == 12_50
    for value, words in (
        (Decimal("-1"), "is less than £0"),
        ("12", "write it without quotes"),
        (True, "is not a number"),
    ):
        assert words in taken(Money().take, value)[1]


def test_a_file_and_a_form_have_the_same_bounds() -> None:
    """The hours of a week were once bounded twice, and differently."""
    figures = [
        key.shape for keys in (*TABLES.values(), *LISTS.values()) for key in keys if isinstance(key.shape, Figure)
    ]
    assert len(figures) > 25
    for figure in figures:
        for bound in (figure.quantity.least, figure.quantity.most):
            assert figure.read(figure.show(figure.take_one(bound))) == figure.take_one(bound)
            beyond = bound + 1 if bound == figure.quantity.most else bound - 1
            typed = f"{beyond * 100 if isinstance(figure, Share) else beyond}"
            for read, value in ((figure.take_one, beyond), (figure.read, typed)):
                assert "it must be between" in taken(read, value)[1]
