"""The kinds of cell in an archive: how each is read, and the one form in which it is written.

An empty cell means unknown or not applicable; neither reader nor writer sees it. Readers raise ``CellFault`` with
words that continue the column's name.
"""

import re
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from typing import Any, Protocol

from config import quantities
from costing.archive.faults import quoted
from fleet.core import registration

_LONGEST_NAME = 40


class CellFault(ValueError):
    """A cell cannot be what its column holds; the message says what it should be."""


def _unchanged(value: Any) -> Any:
    return value


#: The signs that make a spreadsheet take a cell for a formula: also the full-width forms and the true minus.
_BEGINS_FORMULA = "=+\\-@\t\r\n\u2212\uff1d\uff0b\uff0d\uff20"
_FORMULA = re.compile(f"'*[{_BEGINS_FORMULA}]")
_GUARDED = re.compile(f"'+[{_BEGINS_FORMULA}]")


@dataclass(frozen=True)
class Kind:
    """One kind of cell: ``parse`` reads it, ``show`` writes it, ``tidy`` makes a stored value the one read back.

    ``is_words`` marks free text. In the file, an apostrophe stands before text that a spreadsheet would take for a
    formula, and before text that already begins with apostrophes and such a sign.
    """

    parse: Callable[[str], Any]
    show: Callable[[Any], str] = str
    tidy: Callable[[Any], Any] = _unchanged
    is_words: bool = False

    def read(self, cell: str) -> Any:
        """Return the value of a cell. Raises CellFault."""
        return self.parse(cell[1:] if self.is_words and _GUARDED.match(cell) else cell)

    def write(self, value: Any) -> str:
        """Return the cell of a value; only a number may begin with a sign of a formula."""
        cell = self.show(value)
        return f"'{cell}" if self.is_words and _FORMULA.match(cell) else cell


# --- Words ---------------------------------------------------------------------------------------------


def _tidy_text(value: str) -> str:
    """Strip surrounding white space and make line ends plain, as writing and reading a file would."""
    return value.replace("\r\n", "\n").replace("\r", "\n").strip()


def text(longest: int) -> Kind:
    """Return free text of at most ``longest`` characters in any alphabet."""

    def parse(cell: str) -> str:
        value = _tidy_text(cell)
        if len(value) > longest:
            raise CellFault(f"is {len(value)} characters long; the book holds {longest}")
        return value

    return Kind(parse, str, _tidy_text, is_words=True)


def _parse_name(cell: str) -> str:
    if len(cell) > _LONGEST_NAME or not re.fullmatch(r"[-a-zA-Z0-9_]+", cell):
        raise CellFault(f"{quoted(cell)} is no name of at most {_LONGEST_NAME} letters, digits, - and _")
    return cell


def _parse_names(cell: str) -> tuple[str, ...]:
    names = tuple(_parse_name(name) for name in cell.split())
    told: set[str] = set()
    for name in names:
        if name in told:
            raise CellFault(f"{quoted(name)} is in it twice")
        told.add(name)
    return names


#: The name of a point of the walkaround check, and several names with spaces between.
NAME = Kind(_parse_name, is_words=True)
NAMES = Kind(_parse_names, " ".join, tuple, is_words=True)


def _parse_flag(cell: str) -> bool:
    # Capitals are fine: spreadsheets save these two words in capitals.
    if cell.lower() not in {"true", "false"}:
        raise CellFault(f"{quoted(cell)} is neither true nor false")
    return cell.lower() == "true"


def _show_flag(value: bool) -> str:
    return "true" if value else "false"


FLAG = Kind(_parse_flag, _show_flag)


# --- Quantities ------------------------------------------------------------------------------------------


class _Quantity(Protocol):
    def read(self, text: str) -> Any: ...
    def write(self, value: Any) -> str: ...


def _quoting(read: Callable[[str], Any]) -> Callable[[str], Any]:
    """Return a reader whose fault quotes the cell."""

    def parse(cell: str) -> Any:
        try:
            return read(cell)
        except ValueError as wrong:
            raise CellFault(f"{quoted(cell)} {wrong}") from None

    return parse


def of(quantity: _Quantity) -> Kind:
    """Return a cell that holds one of the book's quantities."""
    return Kind(_quoting(quantity.read), quantity.write)


def choice(values: Iterable[str]) -> Kind:
    """Return a cell that holds one of a few words, spelled exactly."""
    return of(quantities.Choice(values))


def one_number_of(values: Collection[int]) -> Kind:
    """Return a cell that holds one of a few whole numbers."""
    words = choice(str(value) for value in values)
    return Kind(lambda cell: int(words.parse(cell)))


EMAIL = Kind(_quoting(quantities.EMAIL.read), quantities.EMAIL.write, str.lower, is_words=True)
MARK = Kind(_quoting(registration.read))
DAY, MONTH = of(quantities.DAY), of(quantities.MONTH)
MILES, SOME_MILES = of(quantities.MILES), of(quantities.SOME_MILES)
COUNT, NUMBER = of(quantities.COUNT), of(quantities.NUMBER)
#: Decimal hours in the file, whole minutes in the book.
HOURS = of(quantities.HOURS)
POUNDS, PAID = of(quantities.POUNDS), of(quantities.PAID)
