"""CAMT.053, the statement of ISO 20022 in XML: without document types or entities, and no deeper than it needs."""

from typing import Any
from xml.parsers import expat

from config import budgets
from costing.importing.core.sheet import STATEMENT, Line, Sheet
from costing.importing.readers.refused import Refused

#: Where the other side's name stands in an entry's details, by which way the money went; older and newer versions.
_NAMES = {
    "DBIT": ("RltdPties/Cdtr/Nm", "RltdPties/Cdtr/Pty/Nm"),
    "CRDT": ("RltdPties/Dbtr/Nm", "RltdPties/Dbtr/Pty/Nm"),
}
_BOOKED = ("", "BOOK")
#: More of a text is not read: that it is longer than a cell may be is known by then.
_LONGEST_TEXT = budgets.IMPORT_CELL_CHARACTERS * 4


def is_xml(text: str) -> bool:
    """Whether the text begins as XML does."""
    return text[:200].lstrip().startswith("<")


def read_camt(content: bytes) -> Sheet:
    """Return the booked entries of the statements, each as day, sum, payee and note. Raises Refused.

    An entry that books several payments together is as many lines where each tells its sum.
    """
    statement = _Statement()
    reader = expat.ParserCreate(namespace_separator="|")
    reader.StartElementHandler, reader.EndElementHandler = statement.start, statement.end
    reader.CharacterDataHandler = statement.text
    reader.StartDoctypeDeclHandler = reader.EntityDeclHandler = statement.refuse
    try:
        reader.Parse(content, True)
    except expat.ExpatError as error:
        raise Refused(f"This XML cannot be read beyond line {error.lineno}: download it again.") from None
    except (LookupError, ValueError) as error:
        raise error if isinstance(error, Refused) else Refused("This XML is in an encoding nobody knows.") from None
    if not statement.is_camt:
        raise Refused("This XML is no bank statement in CAMT.053.")
    if not statement.lines:
        raise Refused("There is no booked payment in this statement.")
    note = f"Payments not booked yet are not shown: {statement.pending}." if statement.pending else ""
    return Sheet((Line(0, STATEMENT), *statement.lines), is_statement=True, note=note)


class _Statement:
    """What the parser calls: it keeps one entry at a time."""

    def __init__(self) -> None:
        self.lines: list[Line] = []
        self.pending = 0
        self.is_camt = False
        self._path: list[str] = []
        self._text = ""
        self._entry: dict[str, Any] | None = None

    def refuse(self, *_: Any) -> None:
        raise Refused("This statement holds a document type or entities, which no bank’s does: it is not read.")

    def start(self, tag: str, its: dict[str, str]) -> None:
        self._path.append(tag.rpartition("|")[2])
        if len(self._path) > budgets.IMPORT_DEPTH:
            raise Refused(f"This XML has more than {budgets.IMPORT_DEPTH} tags within tags: it is not read.")
        if len(self._path) == 2:
            self.is_camt = self.is_camt or self._path[1] == "BkToCstmrStmt"
        if self._path[-1] == "Ntry" and self._path[-2:-1] == ["Stmt"]:
            self._entry = {"details": [], "at": len(self._path)}
        elif self._entry is not None and self._path[-1] == "TxDtls":
            self._entry["details"].append({})
        elif self._path[-1] in ("Amt",) and self._entry is not None:
            self._values(self._entry).setdefault(f"{self._below(self._entry)}@", its.get("Ccy", "GBP"))
        self._text = ""

    def text(self, part: str) -> None:
        if self._entry is not None and len(self._text) < _LONGEST_TEXT:
            self._text += part

    def end(self, _: str) -> None:
        tag = self._path[-1]
        if self._entry is not None:
            if tag == "Ntry":
                self._take(self._entry)
                self._entry = None
            elif self._text.strip():
                self._put(self._values(self._entry), self._below(self._entry), self._text.strip())
        self._path.pop()
        self._text = ""

    def _put(self, values: dict[str, Any], below: str, text: str) -> None:
        told = values.get(below, "") if below.endswith("Ustrd") else ""
        # Cut beyond what a cell may have: joined without end, they would be copied without end.
        values[below] = f"{told} {text}".strip()[:_LONGEST_TEXT]

    def _values(self, entry: dict[str, Any]) -> dict[str, Any]:
        """Where a value belongs: to the last of the entry's details while inside one, else to the entry."""
        values: dict[str, Any] = entry["details"][-1] if "TxDtls" in self._path else entry
        return values

    def _below(self, entry: dict[str, Any]) -> str:
        """The path below the details, or below the entry."""
        since = self._path.index("TxDtls") + 1 if "TxDtls" in self._path else entry["at"]
        return "/".join(self._path[since:])

    def _take(self, entry: dict[str, Any]) -> None:
        if entry.get("Sts", entry.get("Sts/Cd", "")) not in _BOOKED:
            self.pending += 1
            return
        details = entry["details"]
        sums = [told for one in details if (told := _sum_of(one))]
        if len(details) < 2 or len(sums) < len(details):
            details, sums = details[:1] or [{}], [(entry.get("Amt", ""), entry.get("Amt@", "GBP"))]
        for one, (amount, currency) in zip(details, sums, strict=True):
            if len(self.lines) >= budgets.IMPORT_ROWS:
                raise Refused(f"This statement has more than {budgets.IMPORT_ROWS:,} payments. Send it in parts.")
            way = one.get("CdtDbtInd") or entry.get("CdtDbtInd", "")
            self.lines.append(_line(len(self.lines) + 1, entry, one, amount, currency, way))


def _sum_of(details: dict[str, str]) -> tuple[str, str] | None:
    for path in ("Amt", "AmtDtls/TxAmt/Amt"):
        if path in details:
            return details[path], details.get(f"{path}@", "GBP")
    return None


def _line(number: int, entry: dict[str, Any], one: dict[str, str], amount: str, currency: str, way: str) -> Line:
    day = next((entry[path] for path in ("BookgDt/Dt", "BookgDt/DtTm", "ValDt/Dt", "ValDt/DtTm") if path in entry), "")
    # A bank gives a note in pieces of 140 characters, several of them: its end is no reason to refuse a statement.
    note = one.get("RmtInf/Ustrd", "")[: budgets.IMPORT_CELL_CHARACTERS]
    payee = next((one[path] for path in _NAMES.get(way, ()) if path in one), "")
    about = entry.get("AddtlNtryInf", "") or one.get("AddtlTxInf", "")
    signed = f"-{amount}" if way == "DBIT" else amount
    named = payee or about or note
    return Line(
        number,
        (
            day[:10],
            signed if currency == "GBP" else f"{signed} {currency}",
            named,
            note if note != named else "",
        ),
    )
