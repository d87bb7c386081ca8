"""OFX, as banks offer it for download: 1.x, whose values have no closing tag, and 2.x, which is XML.

Both are the same list of tags, so one reader takes them. It expands no entity but those of five characters and numbers.
"""

import html
import re
from collections.abc import Iterator
from decimal import Decimal

from config import budgets
from costing.importing.core.sheet import STATEMENT, Line, Sheet
from costing.importing.readers.refused import Refused

_TOKEN = re.compile(r"<(/?)([A-Za-z0-9._]{1,64})>([^<]*)")
_DAY = re.compile(r"([0-9]{4})([0-9]{2})([0-9]{2})(?:[0-9]{6})?(?:\.[0-9]{1,3})?(?:\[.*\])?")
_SUM = re.compile(r"[-+]?(?=[.,]?[0-9])[0-9]{0,15}(?:[.,][0-9]{0,6})?")
#: Between these, a text stands as it is.
_BEGIN, _END = "<![CDATA[", "]]>"


def is_ofx(text: str) -> bool:
    """Whether the text begins as OFX does."""
    begin = text[:4_000].lstrip().upper()
    return begin.startswith("OFXHEADER:") or "<OFX>" in begin


def read_ofx(text: str) -> Sheet:
    """Return the statement's transactions, each as day, sum, payee and note. Raises Refused."""
    if "<!DOCTYPE" in text[:4_000].upper() or "<!ENTITY" in text.upper():
        raise Refused("This statement holds a document type or entities, which no bank’s does: it is not read.")
    lines: list[Line] = []
    currency = "GBP"
    for kind, values in _found(_escaped(text)):
        if kind == "CURDEF":
            currency = values["CURDEF"].upper()
            continue
        if len(lines) >= budgets.IMPORT_ROWS:
            raise Refused(f"This statement has more than {budgets.IMPORT_ROWS:,} payments. Send it in parts.")
        lines.append(_line(len(lines) + 1, values, currency))
    if not lines:
        raise Refused("There is no payment in this statement.")
    return Sheet((Line(0, STATEMENT), *lines), is_statement=True)


def _escaped(text: str) -> str:
    """The text with what stands in CDATA as any other; one that never ends is none, and is looked for once."""
    parts, at = [], 0
    while (begin := text.find(_BEGIN, at)) >= 0 and (end := text.find(_END, begin)) >= 0:
        parts += [text[at:begin], html.escape(text[begin + len(_BEGIN) : end])]
        at = end + len(_END)
    return "".join([*parts, text[at:]])


def _found(text: str) -> Iterator[tuple[str, dict[str, str]]]:
    """Each currency of a statement and each transaction, in their order, with its values by tag."""
    values: dict[str, str] | None = None
    for match in _TOKEN.finditer(text):
        closes, tag, value = match[1], match[2].upper(), match[3].strip()
        if tag == "STMTTRN":
            if values:
                yield tag, values
            values = None if closes else {}
        elif closes or not value:
            continue
        elif values is not None:
            # Of a foreign payment's own currency there is a second symbol and rate; the first of a tag counts.
            values.setdefault(tag, value[: budgets.IMPORT_CELL_CHARACTERS * 4])
        elif tag == "CURDEF":
            yield tag, {tag: value}
    if values:
        raise Refused("This statement ends in the middle of a payment: download it again.")


def _line(number: int, values: dict[str, str], currency: str) -> Line:
    day = _DAY.fullmatch(values.get("DTPOSTED", ""))
    written = values.get("TRNAMT", "")
    # Only what is written out: a power of ten would be as many noughts.
    amount = f"{Decimal(written.replace(',', '.')):f}" if _SUM.fullmatch(written) else written
    currency = values.get("CURRENCY", values.get("CURSYM", currency)) if "CURRENCY" in values else currency
    payee, note = values.get("NAME") or values.get("PAYEE", ""), values.get("MEMO", "")
    return Line(
        number,
        (
            "-".join(day.groups()) if day else values.get("DTPOSTED", ""),
            amount if currency in ("GBP", "") else f"{amount} {currency}",
            *((html.unescape(payee or note)), html.unescape(note if payee else "")),
        ),
    )
