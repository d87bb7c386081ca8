"""What kind of file it is, told by what is in it: never by its name."""

import unicodedata

from config import budgets
from costing.importing.core.sheet import Line, Sheet, letters
from costing.importing.readers.camt import is_xml, read_camt
from costing.importing.readers.ofx import is_ofx, read_ofx
from costing.importing.readers.refused import TOO_MUCH_IN_IT, Refused
from costing.importing.readers.text import read_csv, text_of
from costing.importing.readers.workbook import read_workbook

#: The first bytes of what people send instead, and what to do about it.
_OTHERS = {
    b"\xd0\xcf\x11\xe0": "This is a spreadsheet of an old kind, or one with a password. Save it as XLSX, ODS or CSV.",
    b"%PDF": "This is a PDF. Ask your bank’s site for the statement as OFX, CSV or CAMT.053.",
    b"\x1f\x8b": "This file is compressed. Unpack it and send what is in it.",
    b"\x89PNG": "This is a picture. Send a spreadsheet, CSV or a bank statement.",
    b"\xff\xd8\xff": "This is a picture. Send a spreadsheet, CSV or a bank statement.",
}


def open_file(content: bytes) -> Sheet:
    """Return what a file holds. Raises Refused, which says why it is not read."""
    if len(content) > budgets.IMPORT_BYTES:
        raise Refused(f"This file is too large: send at most {budgets.IMPORT_BYTES // 10**6} MB.")
    for begin, words in _OTHERS.items():
        if content.startswith(begin):
            raise Refused(words)
    return bounded(_opened(content))


def _opened(content: bytes) -> Sheet:
    if content.startswith(b"PK"):
        return read_workbook(content)
    text = text_of(content)
    if is_ofx(text):
        return read_ofx(text)
    return read_camt(content) if is_xml(text) else read_csv(text)


def bounded(sheet: Sheet) -> Sheet:
    """Return the sheet without its empty rows, if it is within the bounds. Raises Refused."""
    lines = [line for line in sheet.lines if any(text.strip() for text in line.cells)]
    if not lines:
        raise Refused("There is nothing in this file.")
    # A header and a few lines before it.
    if len(lines) > budgets.IMPORT_ROWS + 20:
        raise Refused(f"This file has more than {budgets.IMPORT_ROWS:,} rows. Send it in parts.")
    for line in lines:
        if len(line.cells) > budgets.IMPORT_COLUMNS:
            raise Refused(f"Row {line.number} has {len(line.cells)} columns: a file may have {budgets.IMPORT_COLUMNS}.")
        for column, text in enumerate(line.cells):
            if len(text) > budgets.IMPORT_CELL_CHARACTERS:
                where = f"Row {line.number}, column {letters(column)}"
                raise Refused(f"{where}: a cell may have {budgets.IMPORT_CELL_CHARACTERS} characters.")
    if sum(len(text) for line in lines for text in line.cells) > budgets.IMPORT_CHARACTERS:
        raise Refused(TOO_MUCH_IN_IT)
    return sheet._replace(lines=tuple(Line(line.number, tuple(map(_plain, line.cells))) for line in lines))


def _plain(text: str) -> str:
    """The text on one line, without characters that nobody sees: they control a screen or turn the text around."""
    return " ".join("".join(map(_shown, text)).split())


def _shown(one: str) -> str:
    return one if one.isprintable() else "" if unicodedata.category(one) == "Cf" else " "
