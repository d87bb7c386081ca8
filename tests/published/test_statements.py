"""Bank statements, read as others read them.

OFX: ofxtools (its registry page calls it an OFX parser) reads the same files, which are written here after the Open
Financial Exchange Specification 1.6 and 2.2, chapter 11 (STMTTRN: DTPOSTED, TRNAMT, NAME, MEMO).

CAMT.053: the elements and their order are those of the ISO 20022 message definition BankToCustomerStatement,
camt.053.001.02 and camt.053.001.08 (Ntry: Amt, CdtDbtInd, Sts, BookgDt, NtryDtls/TxDtls/RltdPties, RmtInf/Ustrd). In
version 8 the status is a code within Sts, and a party's name stands within Pty.
"""

import io
from decimal import Decimal

import pytest
from ofxtools.Parser import OFXTree

from costing.importing.readers.camt import read_camt
from costing.importing.readers.ofx import read_ofx
from costing.importing.readers.opening import open_file

_PAYMENTS = [
    ("20260305120000[0:GMT]", "-86.40", "CORNER &amp; SONS", "CARD 1234"),
    ("20260306", "38.00", "A PUPIL", ""),
    ("20260331235959.000", "-1234.5", "INSURER", "POLICY 7"),
    ("20260401", "-0.99", "SMALL &lt;THINGS&gt;", "x"),
]


def _sgml() -> str:
    payments = "".join(
        f"<STMTTRN><TRNTYPE>OTHER<DTPOSTED>{day}<TRNAMT>{amount}<FITID>{n}<NAME>{name}"
        + (f"<MEMO>{memo}" if memo else "")
        + "</STMTTRN>"
        for n, (day, amount, name, memo) in enumerate(_PAYMENTS)
    )
    head = "OFXHEADER:100\nDATA:OFXSGML\nVERSION:102\nSECURITY:NONE\nENCODING:USASCII\nCHARSET:1252\nCOMPRESSION:NONE\n"
    return f"{head}OLDFILEUID:NONE\nNEWFILEUID:NONE\n\n{_around(payments, '')}"


def _xml() -> str:
    payments = "".join(
        f"<STMTTRN><TRNTYPE>OTHER</TRNTYPE><DTPOSTED>{day}</DTPOSTED><TRNAMT>{amount}</TRNAMT><FITID>{n}</FITID>"
        f"<NAME>{name}</NAME>{f'<MEMO>{memo}</MEMO>' if memo else ''}</STMTTRN>"
        for n, (day, amount, name, memo) in enumerate(_PAYMENTS)
    )
    head = (
        '<?xml version="1.0" encoding="UTF-8" standalone="no"?>\n<?OFX OFXHEADER="200" VERSION="220" SECURITY="NONE" '
    )
    return f'{head}OLDFILEUID="NONE" NEWFILEUID="NONE"?>\n{_around(payments, "close")}'


def _around(payments: str, closes: str) -> str:
    def leaf(tag: str, value: str) -> str:
        return f"<{tag}>{value}" + (f"</{tag}>" if closes else "")

    status = f"<STATUS>{leaf('CODE', '0')}{leaf('SEVERITY', 'INFO')}</STATUS>"
    signed_on = f"<SONRS>{status}{leaf('DTSERVER', '20260402')}{leaf('LANGUAGE', 'ENG')}</SONRS>"
    account = f"<BANKACCTFROM>{leaf('BANKID', '1')}{leaf('ACCTID', '2')}{leaf('ACCTTYPE', 'CHECKING')}</BANKACCTFROM>"
    span = leaf("DTSTART", "20260301") + leaf("DTEND", "20260401")
    balance = f"<LEDGERBAL>{leaf('BALAMT', '1.00')}{leaf('DTASOF', '20260401')}</LEDGERBAL>"
    statement = (
        f"<STMTRS>{leaf('CURDEF', 'GBP')}{account}<BANKTRANLIST>{span}{payments}</BANKTRANLIST>{balance}</STMTRS>"
    )
    answer = f"<STMTTRNRS>{leaf('TRNUID', '0')}{status}{statement}</STMTTRNRS>"
    return f"<OFX><SIGNONMSGSRSV1>{signed_on}</SIGNONMSGSRSV1><BANKMSGSRSV1>{answer}</BANKMSGSRSV1></OFX>"


@pytest.mark.parametrize("text", [_sgml(), _xml()], ids=["1.x", "2.x"])
def test_a_payment_of_ofx_is_what_ofxtools_reads(text: str) -> None:
    tree = OFXTree()
    tree.parse(io.BytesIO(text.encode("cp1252")))
    theirs = [
        (one.dtposted.date().isoformat(), one.trnamt, one.name, one.memo or "")
        for one in tree.convert().statements[0].transactions
    ]
    ours = [(day, Decimal(amount), name, memo) for _, (day, amount, name, memo) in read_ofx(text).lines[1:]]
    assert ours == theirs
    assert open_file(text.encode("cp1252")) == read_ofx(text)


def _camt(version: str, *entries: str) -> bytes:
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        f'<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.{version}">'
        "<BkToCstmrStmt><GrpHdr><MsgId>1</MsgId><CreDtTm>2026-04-01T08:00:00</CreDtTm></GrpHdr><Stmt><Id>1</Id>"
        "<CreDtTm>2026-04-01T08:00:00</CreDtTm><Acct><Id><Othr><Id>1</Id></Othr></Id></Acct>"
        '<Bal><Tp><CdOrPrtry><Cd>OPBD</Cd></CdOrPrtry></Tp><Amt Ccy="GBP">9.00</Amt><CdtDbtInd>CRDT</CdtDbtInd>'
        f"<Dt><Dt>2026-03-01</Dt></Dt></Bal>{''.join(entries)}</Stmt></BkToCstmrStmt></Document>"
    ).encode()


def _entry(way: str, amount: str, status: str, details: str, about: str = "") -> str:
    return (
        f'<Ntry><NtryRef>1</NtryRef><Amt Ccy="GBP">{amount}</Amt><CdtDbtInd>{way}</CdtDbtInd>{status}'
        "<BookgDt><Dt>2026-03-05</Dt></BookgDt><ValDt><Dt>2026-03-06</Dt></ValDt><BkTxCd><Prtry><Cd>X</Cd></Prtry></BkTxCd>"
        f"<NtryDtls>{details}</NtryDtls>{f'<AddtlNtryInf>{about}</AddtlNtryInf>' if about else ''}</Ntry>"
    )


_OLD = "<Sts>BOOK</Sts>"
_NEW = "<Sts><Cd>BOOK</Cd></Sts>"


def _cells(content: bytes) -> list[tuple[str, ...]]:
    return [line.cells for line in read_camt(content).lines[1:]]


def test_an_entry_of_version_2_has_the_other_side_s_name() -> None:
    parties = "<RltdPties><Dbtr><Nm>Me</Nm></Dbtr><Cdtr><Nm>Corner &amp; Sons</Nm></Cdtr></RltdPties>"
    details = f"<TxDtls>{parties}<RmtInf><Ustrd>Invoice 7</Ustrd><Ustrd>of March</Ustrd></RmtInf></TxDtls>"
    assert _cells(_camt("02", _entry("DBIT", "86.40", _OLD, details))) == [
        ("2026-03-05", "-86.40", "Corner & Sons", "Invoice 7 of March")
    ]


def test_an_entry_of_version_8_has_it_within_the_party() -> None:
    parties = "<RltdPties><Dbtr><Pty><Nm>A pupil</Nm></Pty></Dbtr><Cdtr><Pty><Nm>Me</Nm></Pty></Cdtr></RltdPties>"
    content = _camt("08", _entry("CRDT", "38.00", _NEW, f"<TxDtls>{parties}</TxDtls>"))
    assert _cells(content) == [("2026-03-05", "38.00", "A pupil", "")]


def test_what_is_not_booked_is_told_and_not_read() -> None:
    pending = "<Sts><Cd>PDNG</Cd></Sts>"
    sheet = read_camt(_camt("08", _entry("DBIT", "1", pending, ""), _entry("DBIT", "2.00", _NEW, "", "Card 1234")))
    assert [line.cells for line in sheet.lines[1:]] == [("2026-03-05", "-2.00", "Card 1234", "")]
    assert sheet.note == "Payments not booked yet are not shown: 1."


def test_an_entry_of_several_payments_is_as_many_rows_where_each_tells_its_sum() -> None:
    def one(amount: str, name: str) -> str:
        sums = f'<AmtDtls><TxAmt><Amt Ccy="GBP">{amount}</Amt></TxAmt></AmtDtls>'
        return f"<TxDtls>{sums}<RltdPties><Cdtr><Nm>{name}</Nm></Cdtr></RltdPties></TxDtls>"

    together = _entry("DBIT", "30.00", _OLD, one("10.00", "One") + one("20.00", "Two"))
    untold = _entry("DBIT", "30.00", _OLD, "<TxDtls/><TxDtls/>", "Batch")
    assert _cells(_camt("02", together, untold)) == [
        ("2026-03-05", "-10.00", "One", ""),
        ("2026-03-05", "-20.00", "Two", ""),
        ("2026-03-05", "-30.00", "Batch", ""),
    ]
