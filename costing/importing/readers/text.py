"""Bytes as text, and CSV as lines."""

import csv
import io

from config import budgets
from costing.importing.core.sheet import Line, Sheet
from costing.importing.readers.refused import Refused

_MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
_DELIMITERS = (",", ";", "\t")
#: By these lines it is told which delimiter parts the cells.
_LOOKED_AT = 50


def text_of(content: bytes) -> str:
    """Return the text in UTF-8, UTF-16 or Windows-1252. Raises Refused if it is none of these."""
    marked = next((name for mark, name in _MARKS.items() if content.startswith(mark)), None)
    names = [marked] if marked else [*_unmarked(content), "utf-8", "cp1252"]
    for name in names:
        try:
            text = content.decode(name)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise Refused("This file is not text in UTF-8, UTF-16 or Windows-1252: save it as CSV UTF-8 and send that.")


def _unmarked(content: bytes) -> list[str]:
    """UTF-16 without its mark, if every second byte of the beginning is nought."""
    begin = content[:200]
    if len(begin) >= 4 and not any(begin[1::2]) and all(begin[0::2]):
        return ["utf-16-le"]
    if len(begin) >= 4 and not any(begin[0::2]) and all(begin[1::2]):
        return ["utf-16-be"]
    return []


def read_csv(text: str) -> Sheet:
    """Return the rows of a CSV file, parted by commas, semicolons or tabs. Raises Refused."""
    delimiter, text = _delimiter(text)
    lines: list[Line] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=False)
    number = 1
    try:
        for cells in reader:
            if any(map(str.strip, cells)):
                lines.append(Line(number, tuple(cells)))
            number = reader.line_num + 1
            if len(lines) > budgets.IMPORT_ROWS + 20:
                raise Refused(f"This file has more than {budgets.IMPORT_ROWS:,} rows. Send it in parts.")
            if len(cells) > budgets.IMPORT_COLUMNS:
                words = f"Row {lines[-1].number if lines else number} has {len(cells):,} columns"
                raise Refused(f"{words}: a file may have {budgets.IMPORT_COLUMNS}.")
    except csv.Error:
        raise Refused(f"This file cannot be read as CSV: look at row {number}.") from None
    return Sheet(tuple(lines))


def _delimiter(text: str) -> tuple[str, str]:
    """Return what parts the cells: what makes rows of the same length, longest first; and the text without its hint."""
    first, _, rest = text.partition("\n")
    if first.strip().lower().startswith("sep=") and len(first.strip()) == 5:
        return first.strip()[4], rest
    sample = [line for line in text.splitlines()[:_LOOKED_AT] if line.strip()]

    def parted(delimiter: str) -> tuple[int, int]:
        counts = [len(row) for row in csv.reader(sample, delimiter=delimiter)]
        usual = max(set(counts), key=counts.count) if counts else 1
        return (counts.count(usual) if usual > 1 else 0), usual

    try:
        return max(_DELIMITERS, key=parted), text
    except csv.Error:
        return ",", text
