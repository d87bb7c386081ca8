"""Which column says what: guessed from the words of the header and from what stands below, and changeable."""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from costing.importing.core.days import read_days
from costing.importing.core.hours import read_minutes
from costing.importing.core.sheet import STATEMENT, Line, Sheet, cell, letters
from costing.importing.core.sums import Sum, read_sums


class Purpose(NamedTuple):
    """One thing that a column may say. ``heads`` finds it in the words of a header."""

    name: str
    words: str
    heads: re.Pattern[str]
    is_needed: bool = False
    reads: Callable[[Sequence[str]], float] | None = None


def _share_of_days(cells: Sequence[str]) -> float:
    return sum(day is not None for day in read_days(cells).days) / len(cells)


def _share_of_sums(cells: Sequence[str]) -> float:
    return sum(isinstance(one, Sum) for one in read_sums(cells, places=2)) / len(cells)


def _share_of_words(cells: Sequence[str]) -> float:
    return sum(any(map(str.isalpha, text)) for text in cells) / len(cells)


def _share_of_hours(cells: Sequence[str]) -> float:
    return sum(isinstance(read_minutes(text), int) for text in cells) / len(cells)


_PAYEE = re.compile(
    r"\b(payee|supplier|paid to|merchant|shop|name|description|details|where|who|(?<!cover )(?<!covers )to)\b"
)
_AMOUNT = re.compile(r"\b(amount|paid(?! to)|sum|cost|price|total|value|pence|spent)\b|£")
_MARK = Purpose("mark", "Car", re.compile(r"\b(reg|registration|vrm|mark|car|vehicle|number ?plate)\b"))

#: By what a file holds, what its columns may say, in the order in which they are asked and guessed.
PURPOSES: Mapping[str, tuple[Purpose, ...]] = {
    "cost": (
        Purpose("day", "Day paid", re.compile(r"\b(date|day|paid on|when|posted|booked)\b"), True, _share_of_days),
        Purpose("out", "Money out", re.compile(r"\b(money out|paid out|debits?|withdrawals?|out)\b")),
        Purpose("into", "Money in", re.compile(r"\b(money in|paid in|credits?|deposits?|in)\b")),
        Purpose("amount", "Paid", _AMOUNT, False, _share_of_sums),
        Purpose("category", "What for", re.compile(r"\b(category|type|kind|what for|for|item|expense)\b")),
        Purpose("payee", "Paid to", _PAYEE, False, _share_of_words),
        Purpose("note", "Note", re.compile(r"\b(notes?|memo|reference|comments?|remarks?)\b")),
        Purpose("covers_from", "Covers from", re.compile(r"\b(covers? from|cover starts?|starts?|from)\b")),
        Purpose("covers_to", "Last day covered", re.compile(r"\b(covers? to|ends?|expires|expiry|until|last day)\b")),
        _MARK,
    ),
    "fill": (
        Purpose("day", "Day", re.compile(r"\b(date|day|filled on|when)\b"), True, _share_of_days),
        Purpose("odometer", "Odometer", re.compile(r"\b(odo|odometer|mileage|miles|reading|clock)\b"), True),
        Purpose("quantity", "Litres or kWh", re.compile(r"\b(litres?|ltrs?|kwh|quantity|volume|fuel|charge)\b")),
        Purpose("unit_price", "Pence a litre or kWh", re.compile(r"\b(ppl|per litre|per kwh|unit price|a litre)\b")),
        Purpose("amount", "Paid", re.compile(r"\b(amount|paid|sum|cost|price|total|value|spent)\b|£")),
        Purpose("brimmed", "Filled to the brim", re.compile(r"\b(brim|brimmed|full|filled up|full tank)\b")),
        _MARK,
    ),
    "lessons": (
        Purpose("day", "Day, or the first", re.compile(r"\b(date|day|from|week|starts?|when)\b"), True, _share_of_days),
        Purpose("to_day", "Last day", re.compile(r"\b(to|last day|until|ends?|week ending)\b")),
        Purpose("count", "Lessons", re.compile(r"\b(lessons?|pupils?|count|number)\b")),
        Purpose("minutes", "Minutes", re.compile(r"\b(min|mins|minutes)\b")),
        Purpose("hours", "Hours", re.compile(r"\b(hours?|hrs?|time|duration|length)\b"), False, _share_of_hours),
        Purpose("private_miles", "Private miles", re.compile(r"\b(private|own|personal|private miles)\b")),
        _MARK,
    ),
}  # fmt: skip
#: What readers of bank statements put where.
_STATEMENT = {"day": 0, "amount": 1, "payee": 2, "note": 3}
#: A header stands among the first lines; banks put the account's name before it.
_HEAD_WITHIN = 20
#: A column says what its cells do if so many of those that are not empty can be read so.
_MOST = 0.8
_IGNORED = re.compile(r"\bbalance\b")
_BETWEEN_WORDS = re.compile(r"([a-z])([A-Z])|[_\-]")


class Table(NamedTuple):
    """The rows of a sheet below its header, and what each column is called."""

    heads: tuple[str, ...]
    lines: tuple[Line, ...]

    def called(self, column: int) -> str:
        """What a column is called in a message."""
        return self.heads[column] if column < len(self.heads) and self.heads[column] else f"column {letters(column)}"


def table_of(sheet: Sheet, kind: str) -> Table:
    """Return the rows below the header, if there is one: else all rows, whose columns are called by their letters."""
    if sheet.is_statement:
        return Table(STATEMENT, sheet.lines[1:])
    best, most = None, 1
    for place, line in enumerate(sheet.lines[:_HEAD_WITHIN]):
        known = len(_by_heads(line.cells, kind))
        if known > most and not any(_is_figure(text) for text in line.cells):
            best, most = place, known
    if best is None and _begins_with_words(sheet.lines):
        best = 0
    if best is None:
        return Table((), sheet.lines)
    return Table(tuple(text[:60] for text in sheet.lines[best].cells), sheet.lines[best + 1 :])


def guessed(sheet: Sheet, table: Table, kind: str) -> dict[str, int]:
    """Return the column of each purpose that can be told."""
    if sheet.is_statement:
        return dict(_STATEMENT)
    found = _by_heads(table.heads, kind)
    if "out" in found or "into" in found:
        found.pop("amount", None)
    by_content = (purpose for purpose in PURPOSES[kind] if purpose.reads and purpose.name not in found)
    for purpose in by_content:
        if purpose.name == "amount" and {"out", "into"} & found.keys():
            continue
        if (column := _by_content(purpose, table, found.values())) is not None:
            found[purpose.name] = column
    return found


def looks_like_fills(sheet: Sheet) -> bool:
    """Whether the columns of a sheet are called as those of a list of fills are: it has the odometer, and litres."""
    found = _by_heads(table_of(sheet, "fill").heads, "fill")
    return not sheet.is_statement and {"odometer", "quantity"} <= found.keys()


def _begins_with_words(lines: Sequence[Line]) -> bool:
    """Whether the first line has nothing but words, and the second has a day or a number."""
    if len(lines) < 2:
        return False
    first, second = ([_is_figure(text) for text in line.cells] for line in lines[:2])
    return any(second) and not any(first)


def _is_figure(text: str) -> bool:
    """Whether a cell is a day or a number, which no header is."""
    return bool(text.strip()) and (_share_of_days([text]) == 1 or _share_of_sums([text]) == 1)


def _by_heads(heads: Sequence[str], kind: str) -> dict[str, int]:
    found: dict[str, int] = {}
    for purpose in PURPOSES[kind]:
        for column, head in enumerate(heads):
            # In "paid_on" and "PaidOn" too there are two words.
            words = " ".join([_BETWEEN_WORDS.sub(r"\1 \2", head), head]).lower()
            if column not in found.values() and not _IGNORED.search(words) and purpose.heads.search(words):
                found[purpose.name] = column
                break
    return found


def _by_content(purpose: Purpose, table: Table, taken: Sequence[int] | object) -> int | None:
    width = max((len(line.cells) for line in table.lines), default=0)
    for column in range(width):
        if column in taken or _IGNORED.search(table.called(column).lower()):  # type: ignore[operator]
            continue
        cells = [text for line in table.lines if (text := cell(line, column))]
        if cells and purpose.reads and purpose.reads(cells) >= _MOST:
            return column
    return None
