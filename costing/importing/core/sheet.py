"""A file as lines of texts, whatever kind of file it was."""

from typing import NamedTuple


class Line(NamedTuple):
    """One row: its number in the file, from 1, and its cells from the sheet's first column on."""

    number: int
    cells: tuple[str, ...]


class Sheet(NamedTuple):
    """The rows of a file.

    A statement's columns are those of `STATEMENT`, in that order. ``note`` says what of the file was not read.
    """

    lines: tuple[Line, ...]
    is_statement: bool = False
    note: str = ""

    @property
    def width(self) -> int:
        """How many columns the longest row has."""
        return max((len(line.cells) for line in self.lines), default=0)


#: What the readers of bank statements put into the columns; a sum below nought went out.
STATEMENT = ("Day", "Amount", "Payee", "Note")


def letters(column: int) -> str:
    """The letters of a column as spreadsheets have them; the first, A, is 0."""
    name = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def cell(line: Line, column: int | None) -> str:
    """The text in a column; nothing where the row is shorter, or for no column."""
    return line.cells[column] if column is not None and column < len(line.cells) else ""
