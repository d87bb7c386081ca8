"""Turns one file's bytes into rows of typed values with line numbers, and lists every fault on the way."""

import codecs
import csv
import io
from collections.abc import Iterator, Set
from dataclasses import dataclass, field
from typing import Any

from config import budgets
from config.showing import on_one_line, whole
from costing.archive.cells import CellFault
from costing.archive.faults import WHOLE_FILE, WHOLE_LINE, ArchiveFault, ArchiveRefused
from costing.archive.table import Column, Table

#: The csv module's words for faults that a person can put right, and our words for that person.
_CSV_WORDS = {
    "unexpected end of data": "a quotation mark that begins a cell on this line is never closed",
    "',' expected after '\"'": "words follow a closing quotation mark; inside a cell it is written twice",
}
#: How many bytes are decoded at once.
_PIECE = 65_536
#: How many cells of a column are remembered: days, marks, addresses and words come again and again.
_REMEMBERED = 5_000
_SEPARATORS = {";": "semicolons", "\t": "tabs"}


#: The values by column and cell.
_Read = dict[str, dict[str, Any]]


@dataclass(slots=True)
class FileRow:
    """One line: a value or None by column, without the columns in ``unread``, which had a fault."""

    line: int
    values: dict[str, Any]
    unread: Set[str] = frozenset()


@dataclass
class Sheet:
    """What could be read of one file. Unless ``is_whole``, a row that seems missing may still be in the file.

    Only the first ``faults`` are kept; ``unlisted`` counts the rest, and ``faulty`` holds the lines of them all.
    """

    table: Table
    rows: list[FileRow] = field(default_factory=list)
    faults: list[ArchiveFault] = field(default_factory=list)
    is_whole: bool = True
    unlisted: int = 0
    faulty: set[int] = field(default_factory=set)

    def add_fault(self, line: int, column: str, words: str) -> None:
        """Add a fault at one place of this file."""
        self.faulty.add(line)
        if len(self.faults) < budgets.ARCHIVE_FAULTS:
            self.faults.append(ArchiveFault(self.table.file, line, column, words))
        else:
            self.unlisted += 1

    def give_up(self, line: int, words: str, column: str = WHOLE_FILE) -> None:
        """Add a fault that says why no more of the file can be read."""
        self.add_fault(line, column, words)
        self.is_whole = False


def read_sheet(table: Table, data: bytes) -> Sheet:
    """Read one file; a file without any characters has no rows.

    Raises ArchiveRefused, without looking further, if a row is too long or has too many columns.
    """
    sheet = Sheet(table)
    if not _is_text(sheet, data):
        return sheet
    lines = _csv_lines(sheet, data)
    header_line, header = next(lines, (1, None))
    if header is None or not _is_comma_separated(sheet, header_line, header):
        return sheet
    if len(header) > budgets.ARCHIVE_COLUMNS:
        words = f"has {whole(len(header))} columns; a file of an archive has {budgets.ARCHIVE_COLUMNS} at the most"
        raise ArchiveRefused([ArchiveFault(table.file, header_line, WHOLE_LINE, words)])
    names = [name.strip() for name in header]
    _check_header(sheet, header_line, names)
    read: _Read = {column.name: {} for column in table.columns}
    for line, cells in lines:
        if any(cell.strip() for cell in cells):
            sheet.rows.append(_read_row(sheet, line, cells, names, read))
    return sheet


def _is_text(sheet: Sheet, data: bytes) -> bool:
    """Say whether the file is UTF-8 without NUL. It is decoded in pieces, because the whole could fill the memory."""
    decoder = codecs.getincrementaldecoder("utf-8")()
    for start in range(0, len(data), _PIECE):
        kept = len(decoder.getstate()[0])
        try:
            decoder.decode(data[start : start + _PIECE], start + _PIECE >= len(data))
        except UnicodeDecodeError as error:
            line = data.count(b"\n", 0, start - kept + error.start) + 1
            sheet.give_up(line, 'is not UTF-8 text; save it again as "CSV UTF-8 (comma delimited)"')
            return False
    if b"\0" in data:
        line = data.count(b"\n", 0, data.index(b"\0")) + 1
        sheet.give_up(line, "holds a NUL character; save it again as plain CSV text in UTF-8")
        return False
    return True


class _Lines:
    """The lines of a file. Raises ArchiveRefused as soon as one row has too many characters."""

    def __init__(self, file: str, data: bytes) -> None:
        self.file, self.number, self.in_row = file, 0, 0
        self._text = io.TextIOWrapper(io.BytesIO(data), encoding="utf-8-sig", newline="")

    def __iter__(self) -> Iterator[str]:
        most = budgets.ARCHIVE_ROW_CHARACTERS
        while line := self._text.readline(most + 1):
            self.number += 1
            self.in_row += len(line)
            if self.in_row > most:
                words = f"belongs to a row of more than {whole(most)} characters; nothing of the file was loaded"
                raise ArchiveRefused([ArchiveFault(self.file, self.number, WHOLE_LINE, words)])
            yield line


def _csv_lines(sheet: Sheet, data: bytes) -> Iterator[tuple[int, list[str]]]:
    """Yield each row of cells with the number of its first line, without blank lines."""
    lines = _Lines(sheet.table.file, data)
    reader = csv.reader(iter(lines), strict=True)
    begins = 1
    try:
        for cells in reader:
            lines.in_row = 0
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
            sheet.add_fault(line, on_one_line(name, longest=40), f"is not a column of this file; those are {known}")
        elif name in names[:place]:
            sheet.add_fault(line, name, "is in the header twice")
    for column in table.columns:
        if column.required and column.name not in names:
            sheet.add_fault(line, column.name, "is missing from the header, and every row needs it")
            sheet.is_whole = sheet.is_whole and column.name not in table.key


def _read_row(sheet: Sheet, line: int, cells: list[str], names: list[str], read: _Read) -> FileRow:
    values: dict[str, Any] = {}
    unread: set[str] = set()
    is_ragged = len(cells) != len(names)
    if is_ragged:
        _tell_ragged(sheet, line, cells, names)
    cell_of = dict(zip(names, cells, strict=False))
    for column in sheet.table.columns:
        name = column.name
        # The cells of a ragged line may stand in the wrong columns, so only its key is tried.
        if (is_ragged and name not in sheet.table.key) or (column.required and name not in names):
            unread.add(name)
            continue
        try:
            values[name] = _read_cell(column, cell_of.get(name, ""), read[name])
        except CellFault as fault:
            unread.add(name)
            if not is_ragged:
                sheet.add_fault(line, name, str(fault))
    return FileRow(line, values, unread) if unread else FileRow(line, values)


def _tell_ragged(sheet: Sheet, line: int, cells: list[str], names: list[str]) -> None:
    if len(cells) > len(names):
        words = f"has {len(cells)} cells under a header of {len(names)}; a comma in a cell needs quotation marks"
        sheet.add_fault(line, WHOLE_LINE, words)
    else:
        words = f"is not there: the line has {len(cells)} cells under a header of {len(names)}"
        sheet.add_fault(line, names[len(cells)] or WHOLE_LINE, words)


def _read_cell(column: Column, cell: str, read: dict[str, Any]) -> Any:
    """Return the value of a cell. Equal cells share one value from ``read``, which halves the memory."""
    cell = cell.strip()
    if not cell:
        if column.required:
            raise CellFault("is empty, and must be given")
        return column.default
    if cell in read:
        return read[cell]
    value = column.kind.read(cell)
    if len(read) < _REMEMBERED:
        read[cell] = value
    return value
