"""A script that reads the first sheet of one spreadsheet; ``workbook`` runs it in a process of its own.

It reads the file from standard input and writes JSON to standard output: the sheet's name, the names of the sheets that
are left, and rows of texts with their numbers. Memory and time are limited, so a file made to crash a reader ends this
process and nothing else.
"""

import datetime
import io
import json
import posixpath
import resource
import signal
import sys
import zipfile
from collections.abc import Iterator
from typing import Any
from xml.parsers import expat

import python_calamine

#: The exit status for more rows or columns than there may be.
TOO_LARGE = 3
#: And the one for more characters in all cells together.
TOO_MUCH = 4
#: Stands in a cell with a formula that was never worked out.
FORMULA = "="


class TooLarge(ValueError):
    """The sheet has more rows or columns than there may be."""


class TooMuch(ValueError):
    """The sheet has more characters in all than there may be."""


def texts_of(content: bytes, *, rows: int, columns: int, parts: int, characters: int, in_all: int) -> dict[str, Any]:
    """The first visible sheet that has anything in it. Raises TooLarge, TooMuch, and whatever the reader raises."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        if len(packed.infolist()) > parts:
            raise TooLarge
        book = python_calamine.load_workbook(io.BytesIO(content))
        visible = [
            number
            for number, sheet in enumerate(book.sheets_metadata)
            if sheet.visible == python_calamine.SheetVisibleEnum.Visible
            and sheet.typ == python_calamine.SheetTypeEnum.WorkSheet
        ]
        for number in visible:
            sheet = book.get_sheet_by_index(number)
            lines = _lines(sheet, rows, columns, characters, in_all)
            if lines:
                unread = _formulas_without_value(packed, number, book.sheet_names[number], rows, columns)
                _put(lines, unread)
                others = [book.sheet_names[other] for other in visible if other != number]
                return {"sheet": book.sheet_names[number], "others": others, "lines": lines}
    return {"sheet": "", "others": [], "lines": []}


def _lines(
    sheet: python_calamine.CalamineSheet, rows: int, columns: int, characters: int, in_all: int
) -> list[list[Any]]:
    """Number and texts of each row, with all columns from A on; too long a text is cut just beyond the bound.

    One long text may stand in every cell of a small file. It is not sent on so many times.
    """
    if sheet.start is None or sheet.end is None:
        return []
    (first_row, first_column), (last_row, last_column) = sheet.start, sheet.end
    if last_row - first_row >= rows or last_column >= columns:
        raise TooLarge
    before = [""] * first_column
    lines: list[list[Any]] = []
    for number, row in enumerate(sheet.to_python(skip_empty_area=True), first_row + 1):
        texts = [_text(value)[: characters + 1] for value in row]
        in_all -= sum(map(len, texts))
        if in_all < 0:
            raise TooMuch
        lines.append([number, before + texts])
    return lines


def _text(value: Any) -> str:
    """A cell as a text that reads back as the same day, number or time."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{round(value, 6):f}".rstrip("0").rstrip(".") if abs(value) < 1e15 else repr(value)
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    if isinstance(value, datetime.time):
        return f"{value.hour}:{value.minute:02}"
    if isinstance(value, datetime.timedelta):
        minutes = round(value.total_seconds() / 60)
        return f"{minutes // 60}:{minutes % 60:02}" if minutes >= 0 else str(value)
    return str(value)


def _put(lines: list[list[Any]], unread: list[tuple[int, int, str]]) -> None:
    """Mark the cells whose formula was never worked out, which read as if they were empty."""
    by_number: dict[int, list[str]] = {}
    for number, cells in lines:
        by_number[number] = cells
    for number, column, mark in unread:
        if number not in by_number:
            by_number[number] = []
            lines.append([number, by_number[number]])
        cells = by_number[number]
        cells += [""] * (column + 1 - len(cells))
        cells[column] = cells[column] or mark
    lines.sort(key=lambda line: line[0])


def _formulas_without_value(
    packed: zipfile.ZipFile, number: int, name: str, rows: int, columns: int
) -> list[tuple[int, int, str]]:
    """Row number, column and mark of each cell with a formula and no value, or with an error for a value."""
    if "content.xml" in packed.namelist():
        found: Any = _OpenDocument(name)
        part = "content.xml"
    else:
        found = _OfficeOpen()
        part = _part_of(packed, number)
        if part not in packed.namelist():
            return []
    reader = expat.ParserCreate()
    reader.StartElementHandler, reader.EndElementHandler = found.start, found.end
    reader.CharacterDataHandler = found.text
    reader.StartDoctypeDeclHandler = _refuse
    with packed.open(part) as xml:
        reader.ParseFile(xml)
    return [place for place in found.places[: rows * columns] if place[1] < columns]


def _refuse(*_: Any) -> None:
    raise ValueError("a document type")


def _part_of(packed: zipfile.ZipFile, number: int) -> str:
    """The part of an Office Open XML file that holds its sheet of that number."""
    ids, targets = [], {}
    for tag, its in _tags(packed, "xl/workbook.xml"):
        if tag == "sheet":
            ids.append(next((value for key, value in its.items() if key.split(":")[-1] == "id"), ""))
    for tag, its in _tags(packed, "xl/_rels/workbook.xml.rels"):
        if tag == "Relationship":
            targets[its.get("Id", "")] = its.get("Target", "")
    target = targets.get(ids[number], "") if number < len(ids) else ""
    return target.lstrip("/") if target.startswith("/") else posixpath.join("xl", target)


def _tags(packed: zipfile.ZipFile, part: str) -> Iterator[tuple[str, dict[str, str]]]:
    found: list[tuple[str, dict[str, str]]] = []
    reader = expat.ParserCreate()
    reader.StartElementHandler = lambda tag, its: found.append((tag.split(":")[-1], its))
    reader.StartDoctypeDeclHandler = _refuse
    with packed.open(part) as xml:
        reader.ParseFile(xml)
    yield from found


class _OfficeOpen:
    """Finds ``<c r="B7"><f>`` with nothing in its ``<v>``, and errors such as #N/A, which calamine leaves out."""

    def __init__(self) -> None:
        self.places: list[tuple[int, int, str]] = []
        self._cell, self._value = "", ""
        self._has_formula = self._is_error = self._is_value = False

    def start(self, tag: str, its: dict[str, str]) -> None:
        tag = tag.split(":")[-1]
        if tag == "c":
            self._cell, self._value, self._has_formula = its.get("r", ""), "", False
            self._is_error = its.get("t") == "e"
        self._has_formula |= tag == "f"
        self._is_value = tag in ("v", "t")

    def text(self, part: str) -> None:
        if self._is_value and len(self._value) < 20:
            self._value += part[:20]

    def end(self, tag: str) -> None:
        self._is_value = False
        if tag.split(":")[-1] != "c" or not (self._is_error or (self._has_formula and not self._value.strip())):
            return
        letters = self._cell.rstrip("0123456789")
        column = 0
        for letter in letters:
            column = column * 26 + ord(letter) - ord("A") + 1
        if letters and self._cell[len(letters) :]:
            self.places.append((int(self._cell[len(letters) :]), column - 1, self._value.strip() or FORMULA))


class _OpenDocument:
    """Finds a cell of one table that has a ``table:formula`` and neither value nor text."""

    def __init__(self, name: str) -> None:
        self.places: list[tuple[int, int, str]] = []
        self._name, self._is_inside = name, False
        self._row, self._column = 0, 0

    def start(self, tag: str, its: dict[str, str]) -> None:
        if tag == "table:table":
            self._is_inside, self._row = its.get("table:name") == self._name, 0
        elif self._is_inside and tag == "table:table-row":
            self._row, self._column = self._row + 1, 0
            self._repeated = int(its.get("table:number-rows-repeated", "1"))
        elif self._is_inside and tag in ("table:table-cell", "table:covered-table-cell"):
            if "table:formula" in its and "office:value-type" not in its:
                self.places.append((self._row, self._column, FORMULA))
            self._column += int(its.get("table:number-columns-repeated", "1"))

    def text(self, part: str) -> None:
        """Its values stand in attributes."""

    def end(self, tag: str) -> None:
        if tag == "table:table":
            self._is_inside = False
        elif self._is_inside and tag == "table:table-row":
            self._row += self._repeated - 1


def main() -> None:
    """Read standard input within the limits that the one argument gives as JSON."""
    limits = json.loads(sys.argv[1])
    resource.setrlimit(resource.RLIMIT_AS, (limits["memory"], limits["memory"]))
    signal.setitimer(signal.ITIMER_PROF, limits["seconds"])  # of CPU time; then the signal ends the process
    content = sys.stdin.buffer.read()
    try:
        bounds = {name: limits[name] for name in ("rows", "columns", "parts", "characters", "in_all")}
        found = texts_of(content, **bounds)
    except TooLarge:
        sys.exit(TOO_LARGE)
    except TooMuch:
        sys.exit(TOO_MUCH)
    sys.stdout.write(json.dumps(found))


if __name__ == "__main__":
    main()
