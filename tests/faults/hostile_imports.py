"""Files made to break what reads spreadsheets, CSV and bank statements, a few bytes or a few megabytes each."""

import datetime
import io
import zipfile
from collections.abc import Callable

import openpyxl
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

_HEAD = "Date,Category,Supplier,Amount\n"
_GOOD = "5/3/2026,Repairs,Corner Workshop,86.40\n"


def csv(*rows: str) -> bytes:
    return (_HEAD + "".join(f"{row}\n" for row in rows)).encode()


def row(amount: str = "86.40", day: str = "2026-03-05", supplier: str = "Corner") -> bytes:
    return csv(f'{day},Repairs,"{supplier}","{amount}"')


def packed(parts: dict[str, bytes]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return file.getvalue()


def workbook(*rows: list[object], **cells: object) -> bytes:
    book = openpyxl.Workbook()
    for one in rows:
        book.active.append(one)
    for where, value in cells.items():
        book.active[where] = value
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def changed(part: str, change: Callable[[bytes], bytes], content: bytes | None = None) -> bytes:
    """A workbook with one of its parts changed."""
    with zipfile.ZipFile(io.BytesIO(content or workbook(["Date", "Amount"], ["2026-03-05", 86.4]))) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts[part] = change(parts[part])
    return packed(parts)


def opendocument(*cells: TableCell) -> bytes:
    document, table, line = OpenDocumentSpreadsheet(), Table(name="a"), TableRow()
    for one in cells:
        line.addElement(one)
    table.addElement(line)
    document.spreadsheet.addElement(table)
    file = io.BytesIO()
    document.write(file)
    return file.getvalue()


def text_cell(text: str, **its: object) -> TableCell:
    cell = TableCell(valuetype="string", **its)
    cell.addElement(P(text=text))
    return cell


def ofx(*payments: str, head: str = "OFXHEADER:100\nDATA:OFXSGML\n\n") -> bytes:
    return f"{head}<OFX><CURDEF>GBP<BANKTRANLIST>{''.join(payments)}</BANKTRANLIST></OFX>".encode()


def payment(day: str = "20260305", amount: str = "-86.40", name: str = "CORNER") -> str:
    return f"<STMTTRN><TRNTYPE>DEBIT<DTPOSTED>{day}<TRNAMT>{amount}<FITID>1<NAME>{name}</STMTTRN>"


_NAMESPACE = "urn:iso:std:iso:20022:tech:xsd:camt.053.001.02"


def camt(*entries: str, before: str = '<?xml version="1.0"?>') -> bytes:
    inside = f"<BkToCstmrStmt><Stmt>{''.join(entries)}</Stmt></BkToCstmrStmt>"
    return f'{before}<Document xmlns="{_NAMESPACE}">{inside}</Document>'.encode()


def entry(amount: str = "86.40", day: str = "2026-03-05", about: str = "CORNER", currency: str = "GBP") -> str:
    return (
        f'<Ntry><Amt Ccy="{currency}">{amount}</Amt><CdtDbtInd>DBIT</CdtDbtInd><Sts>BOOK</Sts>'
        f"<BookgDt><Dt>{day}</Dt></BookgDt><AddtlNtryInf>{about}</AddtlNtryInf></Ntry>"
    )


_LAUGHS = '<!DOCTYPE a [<!ENTITY a "ha">' + "".join(
    f'<!ENTITY {chr(98 + n)} "{f"&{chr(97 + n)};" * 10}">' for n in range(9)
) + "]>"  # fmt: skip
_XXE = '<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
SHEET = "xl/worksheets/sheet1.xml"


def with_cells(cells: str) -> Callable[[bytes], bytes]:
    def change(sheet: bytes) -> bytes:
        begin, _, end = sheet.partition(b"<sheetData>")
        return begin + f"<sheetData>{cells}</sheetData>".encode() + end.partition(b"</sheetData>")[2]

    return change


#: Refused as a whole, by what is wrong; a part of what is said.
REFUSED: dict[str, tuple[Callable[[], bytes], str]] = {
    "nothing": (lambda: b"", "empty"),
    "blanks": (lambda: b" \r\n \r\n", "nothing in this file"),
    "commas": (lambda: b",,,\n" * 90, "nothing in this file"),
    "noughts": (lambda: b"\0" * 9_000, "not text"),
    "a NUL in a cell": (lambda: row(supplier="a\0b"), "not text"),
    "a picture": (lambda: b"\x89PNG\r\n\x1a\n" + b"\0" * 99, "a picture"),
    "a photo": (lambda: b"\xff\xd8\xff\xe0" + b"\0" * 99, "a picture"),
    "a PDF": (lambda: b"%PDF-1.7\n", "a PDF"),
    "gzip": (lambda: b"\x1f\x8b\x08" + b"\0" * 99, "compressed"),
    "an old spreadsheet": (lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "an old kind"),
    "six megabytes": (lambda: b"a,b\n" * 1_500_000, "too large"),
    "20,000 rows": (lambda: csv(*[_GOOD.strip()] * 20_000), "more than 2,000 rows"),
    "a million rows": (lambda: b"a\n" * 1_000_000, "more than 2,000 rows"),
    "rows that end the old way": (lambda: b"a,1\r" * 90_000, "more than 2,000 rows"),
    "a million columns": (lambda: b"," * 1_000_000 + b"a", "columns"),
    "two million columns of a second row": (lambda: csv("x" + "," * 2_000_000), "columns"),
    "a cell of megabytes": (lambda: csv(f'"{"x" * 3_000_000}"'), "row 2"),
    "a cell of 600 characters": (lambda: row(supplier="x" * 600), "500 characters"),
    "a quote never closed": (lambda: csv('"' + "x,\n" * 90_000), "row 2"),
    "half of UTF-16": (lambda: b"\xff\xfe" + _HEAD.encode("utf-16-le")[:-1], "not text"),
    "UTF-16 without an end": (lambda: b"\xfe\xff\xd8\x00", "not text"),
    "a truncated ZIP": (lambda: workbook(["Date", "Amount"])[:900], "cannot be read"),
    "a ZIP's name alone": (lambda: b"PK\x03\x04", "cannot be read"),
    "an empty ZIP": (lambda: packed({}), "cannot be read"),
    "a ZIP of pictures": (lambda: packed({"a.png": b"x"}), "cannot be read"),
    "a ZIP in a ZIP": (lambda: packed({"a.xlsx": workbook(["Date"])}), "cannot be read"),
    "ZIPs in ZIPs": (lambda: packed({"a.zip": packed({"b.zip": packed({"c.zip": packed({"d": b"x"})})})}), "cannot be"),
    "9,000 parts": (lambda: packed({f"xl/{n}.xml": b"" for n in range(9_000)}), "too large"),
    "a bomb for a workbook": (lambda: packed({"xl/workbook.xml": b"<" + b"a" * 90_000_000}), "cannot be read"),
    "a bomb for a sheet": (
        lambda: changed(SHEET, lambda _: b"<worksheet><sheetData>" + b"<row/>" * 3_000_000), "cannot be read",
    ),
    "a bomb of rows": (
        lambda: changed(SHEET, with_cells("<row><c><v>1</v></c></row>" * 300_000)), "too large",
    ),
    "a bomb of shared words": (
        lambda: packed({
            "[Content_Types].xml": b"<Types/>", "xl/workbook.xml": b"<workbook/>",
            "xl/sharedStrings.xml": b"<sst>" + b"<si><t>x</t></si>" * 5_000_000,
        }), "cannot be read",
    ),
    "a bomb for an ODS": (
        lambda: packed({
            "mimetype": b"application/vnd.oasis.opendocument.spreadsheet",
            "content.xml": b"<office:document-content>" + b"<a>" * 20_000_000,
        }), "cannot be read",
    ),
    "a cell at the end of the sheet": (lambda: workbook(XFD1048576="x", A1="y"), "This spreadsheet"),
    "16,000 columns": (lambda: workbook(XFD1="x", A1="y"), "too large"),
    "a million rows of a sheet": (lambda: workbook(A1="x", A1048576="y"), "This spreadsheet"),
    "rows repeated without end": (
        lambda: opendocument(text_cell("x", numbercolumnsrepeated=2_000_000_000)), "",
    ),
    "columns repeated": (lambda: opendocument(text_cell("x", numbercolumnsrepeated=10_000_000)), ""),
    "laughs in a sheet": (lambda: changed(SHEET, lambda sheet: _LAUGHS.encode() + sheet), ""),
    "laughs in a workbook": (lambda: changed("xl/workbook.xml", lambda book: _LAUGHS.encode() + book), ""),
    "a sheet that is no XML": (lambda: changed(SHEET, lambda _: b"\xff\xfe<<<"), "cannot be read"),
    "a sheet cut in half": (lambda: changed(SHEET, lambda sheet: sheet[: len(sheet) // 2]), "cannot be read"),
    "a sheet that is empty": (lambda: workbook(), "nothing in this file"),
    "a workbook without sheets": (lambda: changed("xl/workbook.xml", lambda _: b"<workbook/>"), ""),
    "laughs in CAMT": (lambda: camt(entry(about="&j;"), before=f'<?xml version="1.0"?>{_LAUGHS}'), "document type"),
    "another file in CAMT": (lambda: camt(entry(about="&x;"), before=f'<?xml version="1.0"?>{_XXE}'), "document type"),
    "an entity nobody declared": (lambda: camt(entry(about="&x;")), "cannot be read beyond line 1"),
    "a document type alone": (lambda: b"<!DOCTYPE html><html></html>", "document type"),
    "deep XML": (lambda: camt("<a>" * 300_000), "tags within tags"),
    "deep XML outside": (lambda: b"<a>" * 500_000, "tags within tags"),
    "XML that is no statement": (lambda: b"<?xml version='1.0'?><svg/>", "no bank statement"),
    "XML cut short": (lambda: camt(entry())[:-40], "cannot be read beyond"),
    "XML in an odd encoding": (lambda: camt(entry(), before='<?xml version="1.0" encoding="EBCDIC-XX"?>'), "cannot"),
    "XML in UTF-7": (lambda: b'<?xml version="1.0" encoding="utf-7"?>+ADw-a+AD4-', ""),
    "a statement without entries": (lambda: camt(), "no booked payment"),
    "only pending entries": (lambda: camt(entry().replace("BOOK", "PDNG")), "no booked payment"),
    "9,000 entries": (lambda: camt(*[entry()] * 9_000), "more than 2,000"),
    "a tag of megabytes": (lambda: camt(f"<{'a' * 3_000_000}/>"), ""),
    "attributes by the thousand": (lambda: camt("<a " + " ".join(f'b{n}="1"' for n in range(90_000)) + "/>"), ""),
    "OFX without payments": (lambda: ofx(), "no payment"),
    "OFX cut short": (lambda: ofx(payment()[:-12]), "in the middle"),
    "OFX with entities": (lambda: ofx(payment(), head=f'<?xml version="1.0"?>{_LAUGHS}'), "document type"),
    "9,000 payments": (lambda: ofx(*[payment()] * 9_000), "more than 2,000"),
    "OFX of tags that never close": (lambda: ofx("<STMTTRN>" * 300_000), ""),
    "OFX of signs": (lambda: ofx("<" * 900_000), "no payment"),
    "OFX of texts that never end": (lambda: ofx("<![CDATA[" * 500_000), "no payment"),
}  # fmt: skip

#: Read, but with a fault in the row: a part of what is said, with row and column.
FAULTY: dict[str, tuple[bytes, str]] = {
    **{
        f"the sum {amount}": (row(amount), "Row 2, Amount: ")
        for amount in (
            *("1e99999999", "1E5", "NaN", "Infinity", "-Infinity", "0x10", "1_000", "½", "£", "--5", "5-5"),
            *("(5", "5)", "1.2.3", "1,2,3", "9" * 300, "0.001", "€5", "$5", "=1+1", "=cmd|'/c calc'!A0"),
            *("5 USD", "0", "0.00"),
            *("\u0663\u0664", "\uff11\uff12", "99999999", "+-5", "5 p p", "12:30", "abc", "1 2 3", "86.4O"),
        )
    },
    **{
        f"the day {day}": (row(day=day), "Row 2, Date: ")
        for day in (
            *("0/0/0000", "31/2/2026", "2026-13-01", "99999", "1/1/1900", "5 Marhc 2026", "2027-01-01", "=A1"),
            *("tomorrow", "\u0665/3/2026", "12345678901234567890"),
            *( "05/03", "2026", "-1", "5/3/26/1", "0001-01-01", "29/2/2025"),
        )
    },
    "no day": (row(day=""), "Row 2, Date: is empty"),
    "no sum": (row(""), "Row 2, Amount: has no sum"),
    "days at odds": (csv("25/3/2025,Repairs,A,1", "3/26/2025,Repairs,B,2"), "Row 3, Date: “3/26/2025” has its month"),
    "a formula never worked out": (workbook(["Date", "Amount"], ["2026-03-05", "=1+1"]), "Row 2, Amount: is a formula"),
    "an error for a value": (changed(SHEET, with_cells(
        "<row r='1'><c r='A1' t='inlineStr'><is><t>Date</t></is></c><c r='B1' t='inlineStr'><is><t>Amount</t></is></c>"
        "</row><row r='2'><c r='A2'><v>46086</v></c><c r='B2' t='e'><v>#N/A</v></c></row>")), "Row 2, Amount: “#N/A”"),
    "a huge number": (workbook(["Date", "Amount"], [datetime.date(2026, 3, 5), 1e300]), "Row 2, Amount: "),
    "OFX in euros": (ofx(payment(), head="").replace(b"GBP", b"EUR"), "is not in pounds"),
    "OFX of no day": (ofx(payment(day="2026")), "Row 1, Day: "),
    "OFX of no sum": (ofx(payment(amount="lots")), "Row 1, Amount: "),
    "OFX of a power of ten": (ofx(payment(amount="+1e999999999")), "Row 1, Amount: "),
    "OFX of a sign": (ofx(payment(amount="+x")), "Row 1, Amount: "),
    "CAMT in euros": (camt(entry(currency="EUR")), "is not in pounds"),
    "CAMT of no day": (camt(entry(day="soon")), "Row 1, Day: "),
    "CAMT of no sum": (camt(entry(amount="NaN")), "Row 1, Amount: "),
}  # fmt: skip

#: Read as what it is: nothing in it does anything.
HARMLESS: dict[str, bytes] = {
    "a name that turns around": row(supplier="Corner \u202egnp.exe\u2069 Shop"),
    "a name nobody sees": row(supplier="\u200b\u200d\ufeff"),
    "a tag for a name": row(supplier="<script>alert(1)</script>"),
    "a template for a name": row(supplier="{{ 7*7 }}{% now 'Y' %}"),
    "a quote for a name": row(supplier='""; DROP TABLE costing_fill; --'),
    "a name that begins with @": row(supplier="@SUM(A1)"),
    "a name that begins with +": row(supplier="+44 1234"),
    "a name that begins with -": row(supplier="-2+3"),
    "controls in a name": row(supplier="a\x07\x1b[31mb"),
    "a name of emoji": row(supplier="🚗🏳️‍🌈"),
    "Windows-1252": "Date,Category,Supplier,Amount\n5/3/2026,Repairs,Café,£86.40\n".encode("cp1252"),
    "UTF-8 that breaks off": row(supplier="Caf") + b"6/3/2026,Repairs,Caf\xe9,\x80\n",
    "a workbook with its own words": workbook(["Date", "Category", "Amount"], ["5/3/2026", "Repairs", 86.4]),
    "an ODS": opendocument(text_cell("Date"), text_cell("Amount")),
}
