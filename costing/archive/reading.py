"""One file's bytes into rows of typed values with their line numbers, and every fault met on the way."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from costing.archive.cells import CellFault
from costing.archive.faults import WHOLE_FILE, WHOLE_LINE, Fault, plain
from costing.archive.table import Column, Table

#: The csv module's words for what a person can put right, in words for that person.
_CSV_WORDS = {
    "unexpected end of data": "a quotation mark that begins a cell on this line is never closed",
    "',' expected after '\"'": "words follow a closing quotation mark; inside a cell it is written twice",
}
_SEPARATORS = {";": "semicolons", "\t": "tabs"}


@dataclass(slots=True)
class Row:
    """One line: a value or None by column; for the columns in ``unread``, which had a fault, none is held."""

    line: int
    values: dict[str, Any]
    unread: set[str] = field(default_factory=set)


@dataclass
class Sheet:
    """What could be read of one file; unless ``is_whole``, what is missing from it may yet be in the file."""

    table: Table
    rows: list[Row] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    is_whole: bool = True

    def add_fault(self, line: int, column: str, words: str) -> None:
        """Note what is wrong at one place of this file."""
        self.faults.append(Fault(self.table.file, line, column, words))

    def give_up(self, line: int, words: str, column: str = WHOLE_FILE) -> None:
        """Note why the file cannot be read (any further)."""
        self.add_fault(line, column, words)
        self.is_whole = False


def read_sheet(table: Table, data: bytes) -> Sheet:
    """Read one file; a file without a single character in it is an empty one."""
    sheet = Sheet(table)
    text = _decoded(sheet, data)
    if text is None:
        return sheet
    lines = _csv_lines(sheet, text)
    header_line, header = next(lines, (1, None))
    if header is None or not _is_comma_separated(sheet, header_line, header):
        return sheet
    names = [name.strip() for name in header]
    _check_header(sheet, header_line, names)
    for line, cells in lines:
        if any(cell.strip() for cell in cells):
            sheet.rows.append(_read_row(sheet, line, cells, names))
    return sheet


def _decoded(sheet: Sheet, data: bytes) -> str | None:
    try:
        text = data.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        sheet.give_up(line, 'is not UTF-8 text; save it again as "CSV UTF-8 (comma delimited)"')
        return None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        sheet.give_up(line, "holds a NUL character; save it again as plain CSV text in UTF-8")
        return None
    return text


def _csv_lines(sheet: Sheet, text: str) -> Iterator[tuple[int, list[str]]]:
    """Each line of cells with the number of the line on which it begins; blank lines are passed over."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    begins = 1
    try:
        for cells in reader:
            if cells:
                yield begins, cells
            begins = reader.line_num + 1
    except csv.Error as error:
        sheet.give_up(begins, _CSV_WORDS.get(str(error), f"cannot be read as CSV: {error}"), WHOLE_LINE)


def _is_comma_separated(sheet: Sheet, line: int, header: list[str]) -> bool:
    for separator, word in _SEPARATORS.items():
        if len(header) == 1 and separator in header[0]:
            words = f'has its columns separated by {word}; save it again as "CSV UTF-8 (comma delimited)"'
            sheet.give_up(line, words)
            return False
    return True


def _check_header(sheet: Sheet, line: int, names: list[str]) -> None:
    table = sheet.table
    for place, name in enumerate(names):
        if not name:
            sheet.add_fault(line, WHOLE_LINE, f"column {place + 1} has no name")
        elif name not in table.names:
            known = ", ".join(table.names)
            sheet.add_fault(line, plain(name, longest=40), f"is not a column of this file; those are {known}")
        elif name in names[:place]:
            sheet.add_fault(line, name, "is in the header twice")
    for column in table.columns:
        if column.required and column.name not in names:
            sheet.add_fault(line, column.name, "is missing from the header, and every row needs it")
            sheet.is_whole = sheet.is_whole and column.name not in table.key


def _read_row(sheet: Sheet, line: int, cells: list[str], names: list[str]) -> Row:
    row = Row(line, {})
    is_ragged = len(cells) != len(names)
    if is_ragged:
        _tell_ragged(sheet, line, cells, names)
    cell_of = dict(zip(names, cells, strict=False))
    for column in sheet.table.columns:
        name = column.name
        # Cells of a ragged line may have slipped into one another's columns: only its key is worth a try.
        if (is_ragged and name not in sheet.table.key) or (column.required and name not in names):
            row.unread.add(name)
            continue
        try:
            row.values[name] = _read_cell(column, cell_of.get(name, ""))
        except CellFault as fault:
            row.unread.add(name)
            if not is_ragged:
                sheet.add_fault(line, name, str(fault))
    return row


def _tell_ragged(sheet: Sheet, line: int, cells: list[str], names: list[str]) -> None:
    if len(cells) > len(names):
        words = f"has {len(cells)} cells under a header of {len(names)}; a comma in a cell needs quotation marks"
        sheet.add_fault(line, WHOLE_LINE, words)
    else:
        words = f"is not there: the line has {len(cells)} cells under a header of {len(names)}"
        sheet.add_fault(line, names[len(cells)] or WHOLE_LINE, words)


def _read_cell(column: Column, cell: str) -> Any:
    cell = cell.strip()
    if cell:
        return column.kind.read(cell)
    if column.required:
        raise CellFault("is empty, and must be given")
    return column.default
