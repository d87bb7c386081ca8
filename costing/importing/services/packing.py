"""The cells of a file as a short text for the page, and back. What comes back is checked as the file was."""

import base64
import binascii
import json
import zlib

from config import budgets
from costing.importing.core.sheet import Line, Sheet
from costing.importing.readers.opening import bounded
from costing.importing.readers.refused import TOO_MUCH_IN_IT, Refused

#: Unpacked, with brackets, quotes and the longest way to write a character.
_UNPACKED = budgets.IMPORT_CHARACTERS * 4 + budgets.IMPORT_ROWS * budgets.IMPORT_COLUMNS * 8
#: One row so, with room for its number.
_UNPACKED_ROW = (budgets.IMPORT_CELL_CHARACTERS * 6 + 8) * budgets.IMPORT_COLUMNS + 20


def pack(sheet: Sheet) -> str:
    """Return the text of a sheet. Raises Refused if it is too long for a page."""
    # A row to a line, so that each is bounded before it is read: a bracket takes twenty times its own size.
    told: list[object] = [sheet.is_statement, *([line.number, *line.cells] for line in sheet.lines)]
    text = "\n".join(json.dumps(one, ensure_ascii=False, separators=(",", ":")) for one in told)
    packed = base64.urlsafe_b64encode(zlib.compress(text.encode(), 9)).decode()
    if len(packed) > budgets.IMPORT_PACKED:
        raise Refused(TOO_MUCH_IN_IT)
    return packed


def unpack(text: str) -> Sheet:
    """Return the sheet in such a text. Raises Refused for anything that ``pack`` does not make."""
    try:
        reader = zlib.decompressobj()
        told = reader.decompress(base64.b64decode(text.encode("ascii"), b"-_", validate=True), _UNPACKED)
        if not reader.eof:
            raise ValueError("too long")
        first, *rows = told.split(b"\n", budgets.IMPORT_ROWS + 21)
        is_statement = json.loads(first[:9])
        lines = tuple(_line(row) for row in rows)
    except (ValueError, TypeError, zlib.error, binascii.Error, RecursionError):
        raise Refused("The rows on this page are not as they were. Choose the file again.") from None
    if sorted({line.number for line in lines}) != [line.number for line in lines]:
        raise Refused("The rows on this page are not as they were. Choose the file again.")
    return bounded(Sheet(lines, is_statement is True))


def _line(row: bytes) -> Line:
    if len(row) > _UNPACKED_ROW:
        raise ValueError("too long")
    number, *cells = json.loads(row)
    if type(number) is not int or not 0 <= number < 10**8 or not all(isinstance(one, str) for one in cells):
        raise ValueError("not a row")
    return Line(number, tuple(map(str, cells)))
