"""Columns found by their heads and by what stands below, and rows as they are meant."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.importing.core import ticks
from costing.importing.core.alike import A_FILL, Known, alike
from costing.importing.core.columns import PURPOSES, guessed, looks_like_fills, table_of
from costing.importing.core.rows import Row, Settings, read_rows
from costing.importing.core.sheet import STATEMENT, Line, Sheet, cell, letters
from costing.importing.core.words import category_of

DAY = date(2026, 3, 5)


def sheet(*rows: str) -> Sheet:
    return Sheet(tuple(Line(number, tuple(row.split(";"))) for number, row in enumerate(rows, 1)))


def read(kind: str, *rows: str, **settings: bool) -> list[Row]:
    its = sheet(*rows)
    table = table_of(its, kind)
    return read_rows(table, Settings(kind, guessed(its, table, kind), **settings)).rows


def faults(row: Row) -> list[str]:
    return [f"{fault.purpose} {fault.why}" for fault in row.faults]


@pytest.mark.parametrize(("column", "name"), [(0, "A"), (25, "Z"), (26, "AA"), (701, "ZZ"), (702, "AAA")])
def test_a_column_has_its_letters(column: int, name: str) -> None:
    assert letters(column) == name


def test_a_short_row_has_empty_cells() -> None:
    assert (cell(Line(1, ("a",)), 1), cell(Line(1, ("a",)), 0), cell(Line(1, ("a",)), None)) == ("", "a", "")
    assert Sheet(()).width == 0
    assert sheet("a;b", "c").width == 2


def test_a_head_is_found_below_what_a_bank_writes_first() -> None:
    its = sheet("Account;1234", "", "Date;Description;Money Out;Money In;Balance", "5/3/2026;X;1.00;;9.00")
    table = table_of(its, "cost")
    assert [line.number for line in table.lines] == [4]
    assert guessed(its, table, "cost") == {"day": 0, "payee": 1, "out": 2, "into": 3}
    assert (table.called(1), table.called(7)) == ("Description", "column H")


@pytest.mark.parametrize(
    ("kind", "head", "found"),
    [
        ("cost", "paid_on;category;supplier;amount;note", ["day", "category", "payee", "amount", "note"]),
        ("cost", "When;What for;Paid to;£;Reg", ["day", "category", "payee", "amount", "mark"]),
        (
            "cost",
            "paid_on;category;amount;covers_from;covers_to",
            ["day", "category", "amount", "covers_from", "covers_to"],
        ),
        ("cost", "Date;Item;Cost;Cover to;Shop", ["day", "category", "amount", "covers_to", "payee"]),
        ("fill", "filled_on;Mileage;Litres;Total;Full", ["day", "odometer", "quantity", "amount", "brimmed"]),
        ("lessons", "Date;Lessons;Hours;Private miles", ["day", "count", "hours", "private_miles"]),
    ],
)
def test_columns_are_told_by_their_heads(kind: str, head: str, found: list[str]) -> None:
    its = sheet(head, "5/3/2026;1;2;3;4")
    columns = guessed(its, table_of(its, kind), kind)
    assert {name: columns.get(name) for name in found} == {name: place for place, name in enumerate(found)}


def test_columns_without_heads_are_told_by_what_stands_there() -> None:
    its = sheet("Corner;5/3/2026;86.40", "Shop;6/3/2026;1.50")
    table = table_of(its, "cost")
    assert table.heads == ()
    assert guessed(its, table, "cost") == {"day": 1, "amount": 2, "payee": 0}


def test_words_above_figures_are_a_head_whatever_they_say() -> None:
    assert table_of(sheet("a;b", "5/3/2026;1"), "cost").heads == ("a", "b")
    assert table_of(sheet("a;b", "c;d"), "cost").heads == ()
    assert table_of(sheet("a;b"), "cost").heads == ()


def test_a_balance_is_no_sum() -> None:
    its = sheet("a;Balance", "5/3/2026;1")
    assert "amount" not in guessed(its, table_of(its, "cost"), "cost")


def test_the_columns_of_a_statement_are_known() -> None:
    its = Sheet((Line(0, STATEMENT), Line(1, ("2026-03-05", "-1", "X", ""))), is_statement=True)
    table = table_of(its, "cost")
    columns = guessed(its, table, "cost")
    (row,) = read_rows(table, Settings("cost", columns, out_is_below=True)).rows
    assert row.values == {"day": DAY, "amount": Decimal(1), "payee": "X"}


@pytest.mark.parametrize(
    ("head", "row", "amount", "is_in"),
    [
        ("Date;Amount", "5/3/2026;12.50", "12.50", False),
        ("Date;Amount", "5/3/2026;-12.50", "-12.50", False),
        ("Date;Amount", "5/3/2026;12.50 DR", "12.50", False),
        ("Date;Amount", "5/3/2026;12.50 CR", "-12.50", True),
        ("Date;Money out;Money in", "5/3/2026;12.50;", "12.50", False),
        ("Date;Money out;Money in", "5/3/2026;-12.50;0.00", "12.50", False),
        ("Date;Money out;Money in", "5/3/2026;;12.50", "-12.50", True),
    ],
)
def test_a_sum_is_paid_or_came_back(head: str, row: str, amount: str, is_in: bool) -> None:
    (one,) = read("cost", head, row)
    assert (one.values["amount"], one.is_in, one.faults) == (Decimal(amount), is_in, [])


def test_where_money_out_is_below_nought_what_is_above_came_in() -> None:
    out, into = read("cost", "Date;Amount", "5/3/2026;-1", "5/3/2026;2", out_is_below=True)
    assert (out.values["amount"], out.is_in) == (Decimal(1), False)
    assert (into.values["amount"], into.is_in) == (Decimal(-2), True)


@pytest.mark.parametrize(
    ("kind", "head", "row", "fault"),
    [
        ("cost", "Date;Amount", "5/3/2026;", "amount has no sum"),
        ("cost", "Date;Amount", "5/3/2026;0", "amount is nothing: it need not be logged"),
        ("cost", "Date;Amount", ";1", "day is empty"),
        ("cost", "Date;Amount", "x;1", "day “x” is no day"),
        (
            "cost",
            "Date;Amount",
            "5/3/2026;=A1",
            "amount is a formula that was never worked out: put what it comes to there",
        ),
        ("cost", "Date;Money out;Money in", "5/3/2026;0;0", "out is nothing: it need not be logged"),
        (
            "cost",
            "Date;Money out;Money in",
            "5/3/2026;1;2",
            "into has a sum as well as money out: one row is one payment",
        ),
        ("fill", "Date;Odometer;Litres;Cost", "5/3/2026;;40;50", "odometer is empty"),
        (
            "fill",
            "Date;Odometer;Litres;Cost;Full",
            "5/3/2026;1;40;50;perhaps",
            "brimmed “perhaps” is neither yes nor no",
        ),
        (
            "lessons",
            "Date;Lessons;Hours",
            "5/3/2026;;",
            "count has neither lessons nor hours: write 0 if there were none",
        ),
        ("lessons", "Date;Lessons;Hours", "5/3/2026;2;0", "count has lessons without hours, or hours without lessons"),
        ("lessons", "Date;Lessons;Hours", "5/3/2026;0;2", "count has lessons without hours, or hours without lessons"),
        ("lessons", "Date;Lessons;Hours", "5/3/2026;2;25", "minutes is more than these days have hours"),
        ("lessons", "Date;Lessons;Hours", "5/3/2026;x;1", "count “x” is not a number"),
        ("lessons", "From;To;Lessons;Hours", "5/3/2026;4/3/2026;1;1", "to_day is before the first day"),
        ("lessons", "From;To;Lessons;Hours", "5/3/2024;4/3/2026;1;1", "to_day is more than a year after the first day"),
    ],
)
def test_what_cannot_be_read_is_told_by_its_column(kind: str, head: str, row: str, fault: str) -> None:
    its = sheet(head, row, "25/3/2026;9;9;9;9")
    table = table_of(its, kind)
    one = read_rows(table, Settings(kind, guessed(its, table, kind))).rows[0]
    assert fault in faults(one)


def test_days_at_odds_are_told_in_both_rows() -> None:
    first, other = read("cost", "Date;Amount", "25/3/2026;1", "3/26/2026;1")
    assert faults(first)[0].startswith("day “25/3/2026” has its day first, but row 3 has not")
    assert "has its month first, but “25/3/2026” in row 2" in " ".join(faults(other))


def test_the_third_figure_of_a_fill_follows_from_two() -> None:
    head = "Date;Odometer;Litres;Pence per litre;Cost;Full"
    by_price, by_quantity = read("fill", head, "5/3/2026;100;40;140;;yes", "6/3/2026;200;;140;56;no")
    assert (by_price.values["amount"], by_price.values["brimmed"]) == (Decimal("56.00"), True)
    assert (by_quantity.values["quantity"], by_quantity.values["brimmed"]) == (Decimal("40.000"), False)
    assert "unit_price" not in by_price.values


def test_the_third_figure_is_rounded_half_up_as_on_the_page_for_a_fill() -> None:
    head = "Date;Odometer;Litres;Price per litre;Cost"
    paid, bought = read("fill", head, "5/3/2026;41000;21;120.5;", "6/3/2026;41300;;160;0.02")
    assert (paid.values["amount"], bought.values["quantity"]) == (Decimal("25.31"), Decimal("0.013"))


def test_no_lessons_take_no_hours_and_a_row_has_one_day_unless_it_tells_two() -> None:
    none, some = read("lessons", "From;To;Lessons;Hours;Private miles", "5/3/2026;;0;;7", "6/3/2026;8/3/2026;3;4:30;")
    assert none.values == {"day": DAY, "to_day": DAY, "count": 0, "minutes": 0, "private_miles": 7}
    assert some.values == {"day": date(2026, 3, 6), "to_day": date(2026, 3, 8), "count": 3, "minutes": 270}


def test_rows_without_anything_in_a_chosen_column_are_passed_over() -> None:
    assert [row.number for row in read("cost", "Date;Amount;Balance", ";;9", "5/3/2026;1;8")] == [3]


@pytest.mark.parametrize(("word", "name"), [("MOT", "mot"), (" road  Tax ", "vehicle_tax"), ("Petrol", ""), ("", "")])
def test_a_word_of_a_list_is_a_category_if_that_is_plain(word: str, name: str) -> None:
    assert category_of(word) == name


def known(day: date, pounds: int, *about: str, words: str = "it") -> Known:
    return Known(day, frozenset(about), words, Decimal(pounds))


def test_what_is_alike_has_its_sum_within_three_days_and_its_payee_or_category() -> None:
    book = [known(date(2026, 3, 2), 5, "corner", words="one of the book")]
    rows = [
        *(known(DAY, 5, "corner"), known(date(2026, 3, 6), 6, "corner"), known(DAY, 5, "other")),
        known(date(2026, 2, 26), 5, "corner"),
    ]
    assert alike(rows, book) == ["one of the book", "", "", ""]
    assert alike([known(DAY, 5, "a", words="row 1"), known(DAY, 5, "a")], []) == ["", "row 1"]


def test_a_payment_may_be_a_fill_but_two_payments_are_not_alike_for_that() -> None:
    rows = [known(DAY, 5, "a", A_FILL), known(DAY, 5, "b", A_FILL)]
    assert alike(rows, []) == ["", ""]
    assert alike(rows, [known(DAY, 5, A_FILL, words="a fill")]) == ["a fill", "a fill"]


def test_lessons_are_alike_if_they_share_a_day_of_a_car() -> None:
    week = Known(date(2026, 3, 2), frozenset({"QA51ABC"}), "that week", until=date(2026, 3, 8))
    day = Known(DAY, frozenset({"QA51ABC"}), "that day", until=DAY)
    assert alike([day, day._replace(about=frozenset({"QB02XYZ"}))], [week]) == ["that week", ""]


@given(st.sets(st.integers(0, 300)))
def test_ticks_are_read_as_they_were_written(places: set[int]) -> None:
    assert ticks.read(ticks.write(places), 301) == places


@given(st.text("0123456789-,x", max_size=40), st.integers(0, 50))
def test_no_tick_is_beyond_the_rows(text: str, below: int) -> None:
    assert all(0 <= place < below for place in ticks.read(text, below))


CELLS = st.sampled_from(
    ["", "5/3/2026", "3/25/2026", "25/3/2026", "12.50", "1.234,56", "-3", "£5", "x", "=A1", "0", "1:30"]
)


@given(
    st.sampled_from(list(PURPOSES)),
    st.lists(st.lists(CELLS | st.text(max_size=8), min_size=1, max_size=6), max_size=8),
    st.data(),
)
def test_whatever_cells_come_each_row_has_its_values_or_says_why(
    kind: str, rows: list[list[str]], data: st.DataObject
) -> None:
    its = Sheet(tuple(Line(number, tuple(cells)) for number, cells in enumerate(rows, 1)))
    table = table_of(its, kind)
    names = [purpose.name for purpose in PURPOSES[kind]]
    columns = data.draw(st.dictionaries(st.sampled_from(names), st.integers(0, 6)))
    for row in read_rows(table, Settings(kind, guessed(its, table, kind) | columns)).rows:
        needed = {"cost": {"day", "amount"}, "fill": {"day", "odometer", "quantity", "amount"}, "lessons": {"day"}}[
            kind
        ]
        assert row.faults or needed <= row.values.keys()


@pytest.mark.parametrize(
    ("head", "is_one"),
    [
        ("Date;Odometer;Litres;Cost", True),
        ("Date;Mileage;kWh;Price", True),
        ("Date;Description;Money Out;Money In", False),
        ("Date;Litres;Cost", False),
    ],
)
def test_a_list_of_fills_is_known_by_its_columns(head: str, is_one: bool) -> None:
    its = sheet(head, "5/3/2026;41000;40.1;56.10")
    assert looks_like_fills(its) is is_one
    assert not looks_like_fills(its._replace(is_statement=True))
