"""The words of quotes: how their text falls into pieces, and which label names which sum.

Each pattern runs on a piece of at most `_LONGEST_PIECE` characters, and none nests repeats, so that no text can hold
up the reader.
"""

import re
from collections.abc import Iterator
from typing import NamedTuple

#: A piece as a person writes one is far shorter; the rest of a longer one is read as the next.
_LONGEST_PIECE = 300
_LONGEST_SHOWN = 80

_I = re.IGNORECASE
_NUMBER = r"[0-9]{1,3}(?:,[0-9]{3}){1,2}|[0-9]{1,7}"
#: Pounds, or pence up to 999.99. What comes after may be no further digit, so £1.200,00 is no sum.
_SUM = re.compile(
    rf"(?:£|\bGBP) ?(?P<pounds>(?:{_NUMBER})(?:\.[0-9]{{1,2}})?)(?![0-9]|[.,][0-9])"
    r"|(?<![0-9.,£])(?P<pence>[0-9]{1,3}(?:\.[0-9]{1,2})?) ?(?:p|pence|ppm)\b",
    _I,
)
_MILES_NUMBER = r"[0-9]{1,3},[0-9]{3}|[0-9]{4,6}|[0-9]{1,3}k"
_A_YEAR = r"(?:(?:per|a|each|every|/|p) ?\.?(?:year|annum|yr|a)\b|annually|yearly|pa\b)"
_PAYMENTS = r"(?:payments|instalments|installments|rentals|repayments)"
_KIND_OF_PAYMENT = r"(?:(?:equal|regular|further|fixed|consecutive|subsequent) ){0,2}(?:(?:monthly|weekly) )?"
_UNIT = r"(months?|weeks?|years?)"

APR = re.compile(
    r"(?P<before>[0-9]{1,2}(?:\.[0-9]{1,2})?) ?% ?(?:(?:representative|fixed|typical) )?APR\b"
    r"|\b(?:APR|annual percentage rate)\b[^0-9%£]{0,25}(?P<after>[0-9]{1,2}(?:\.[0-9]{1,2})?) ?%",
    _I,
)
MILES = re.compile(
    rf"\b(?P<before>{_MILES_NUMBER}) ?(?:miles? {_A_YEAR}|annual miles)"
    rf"|\b(?:annual|yearly)\b[^0-9£%]{{0,40}}(?P<after>{_MILES_NUMBER})(?! ?%)\b",
    _I,
)
COUNT = re.compile(
    rf"\b([0-9]{{1,3}}) ?(?:[x×] ?)?{_KIND_OF_PAYMENT}{_PAYMENTS}\b"
    rf"|\b([0-9]{{1,3}}) ?[x×@] ?(?:£|GBP)"
    rf"|(?:£|GBP) ?[0-9.,]{{1,12}} ?[x×] ?([0-9]{{1,3}})\b"
    rf"|\b(?:number|no\.?) of {_KIND_OF_PAYMENT}{_PAYMENTS}\b[^0-9£]{{0,5}}([0-9]{{1,3}})\b(?!,)"
    r"|\bprofile\b[^0-9£]{0,5}[0-9]{1,2} ?\+ ?([0-9]{1,3})\b",
    _I,
)
_LENGTH = r"(?:over|for|term|period|duration|length)"
TERM = re.compile(
    rf"\b{_LENGTH}\b[^0-9£a-z]{{0,4}}(?:of |is )?(?:an? )?([0-9]{{1,3}})[ -]?{_UNIT}\b"
    rf"|\b([0-9]{{1,3}})[ -]?{_UNIT} (?:term|agreement|contract|lease|hire|plan|pcp|hp)\b",
    _I,
)
#: "Term (months): 36".
TERM_IN = re.compile(
    r"\b(?:term|period|duration|length)\b ?(?:\(|in )(?P<unit>months|weeks|years)\)?[^0-9£]{0,4}"
    r"(?P<count>[0-9]{1,3})\b",
    _I,
)
#: Lengths and counts of other things than the agreement.
IS_ASIDE = re.compile(
    r"\b(?:MOT|warranty|guarantee|road tax|vehicle tax|breakdown|notice|holiday|free|old|missed|late|history)\b", _I
)
IS_AT_START = re.compile(r"\b(?:deposit|initial|advance|up ?-?front|first|down ?payment)\b", _I)
IS_RENTAL_AT_START = re.compile(r"\b(?:initial|advance|first)\b", _I)
WITHOUT_VAT = re.compile(r"(?:\+|\bplus|\bex|\bexcl|\bexcluding|\bexclusive of|\bexcludes?|\bsubject to)\.? ?VAT\b", _I)
_ALL_WITHOUT_VAT = re.compile(
    r"\b(?:prices|sums|figures|payments|rentals|amounts)\b[^.\n]{0,40}(?:exclu|subject to|plus|\+)[a-z]{0,8}"
    r" (?:of )?VAT",
    _I,
)
#: What names no term of an offer, or one that the book works out itself.
_OTHER = re.compile(
    r"\btotal (?!deposit|initial)|\bamount (?:of credit|financed|borrowed|to finance)|\bbalance\b|\bcredit\b"
    r"|\binterest\b|\bcash ?back\b|\bdiscount|\bsav(?:e|ing)|\bwas\b|\brrp\b|\blist price|\blate\b|\bmissed\b"
    r"|\bholding\b|\breservation|\btrade|\bup to\b|\btermination|\bearly\b|\bdamage|\bfuel\b|\bcharging\b"
    r"|\bincluded in\b|\bif you\b|\bfortnight|\bquarter|\b(?:4|four)[ -]week|\bdaily\b|\ba day\b|\bper day\b",
    _I,
)
_EXTRA = re.compile(r"\b(?:insurance|servic|maintenance|warranty|tax|breakdown|gap|tuition|tyre)", _I)
_PAID_FOR_CAR = re.compile(r"\b(?:rent|rental|payment|instalment)s?\b", _I)
EXCESS = "excess_pence_per_mile"
#: In this order: the first that fits.
_LABELS = (
    (EXCESS, re.compile(r"\b(?:per|a|each) mile\b|(?<![a-z])ppm\b|p/mile|\b(?:excess|additional|extra) mile", _I)),
    (
        "final_payment",
        re.compile(
            r"\bfinal\b|\bballoon|\bgmfv\b|\bfuture value|\bresidual|\boption(?:al)?\b.{0,20}\b(?:purchase|payment)"
            r"|\blast (?:payment|instalment)|\bpurchase fee|\bfee to (?:buy|own|purchase)",
            _I,
        ),
    ),
    (
        "deposit",
        re.compile(
            r"\bdeposit|\binitial\b|\badvance\b|\bfirst rental|\bup ?-?front|\bdown(?: ?payment)?\b|\bpart.exchange", _I
        ),
    ),
    ("fees", re.compile(r"\bfees?\b", _I)),
    ("price", re.compile(r"\bprice\b|\bon the road\b|\botr\b|\bcost of the (?:car|vehicle)", _I)),
    (
        "payment",
        re.compile(
            r"[0-9] ?[x×@] ?(?:£|GBP)"
            r"|(?:£|GBP) ?[0-9.,]{1,12} ?[x×] ?[0-9]{1,3}\b(?=[ .,;)]*$| (?:months?|weeks?)\b)"
            r"|\bmonthly|\bweekly|\b(?:per|a|each|every|/) ?(?:calendar )?(?:month|week)\b|/(?:month|week)\b"
            r"|(?<![a-z])p\.?c\.?m\b|(?<![a-z])p/?[mw]\b|\binstall?ments?\b|\b(?:re)?payments?\b|\brent(?:als?)?\b",
            _I,
        ),
    ),
)
_EACH = r"\b(?:per|a|each|every) ?(?:calendar )?|/ ?"
_WEEK = re.compile(rf"\bweekly|(?:{_EACH})week\b|(?<![a-z])p/?w\b", _I)
_MONTH = re.compile(rf"\bmonthly|(?:{_EACH})month\b|(?<![a-z])p\.?c\.?m\b|(?<![a-z])p/?m\b", _I)

#: Where one statement ends and the next begins, within a line. "Plus VAT" belongs to what it follows.
_BETWEEN = re.compile(
    r"[.;:!?] (?=[A-Z£0-9])(?<!: )|[;|\u2022·\u25aa] ?|, (?!(?:plus|excl|ex|including|inc)\b)"
    r"| (?:and|then|plus|with|followed by) (?!vat\b)",
    _I,
)
_BARE = re.compile(
    r"[^\w£]{0,3}(?:£ ?)?[0-9][0-9,.]{0,11} ?(?:%|p|pence|months?|weeks?|years?|miles?)?"
    r"(?: (?:per|a) (?:year|annum|month|week|mile))?"
    r"(?: APR)?[^\w]{0,3}",
    _I,
)
#: "Between £148 and £162", which is one statement.
_SPAN = re.compile(r"\bbetween (£ ?[0-9.,]{1,12}) and (?=£)", _I)
_TO = re.compile(r" ?(?:-|–|to|or) ?", _I)
_DIGIT = re.compile(r"[0-9]")
_OTHER_LABEL = re.compile(r"\b(?:APR|term|duration|mileage|number of|no of)\b", _I)


class Segment(NamedTuple):
    """A sum with the words that may name it; ``value`` is pounds, or pence if ``is_pence``."""

    text: str
    before: str
    value: str
    is_pence: bool


class _Line(NamedTuple):
    """A line with something on it; ``is_apart`` says that an empty one stands before it."""

    text: str
    is_apart: bool = False


def joined(text: str) -> Iterator[str]:
    """The lines; a label alone on its line is joined to the figure alone on the next, as tables are copied.

    Where labels or figures follow one another, nobody can tell which belongs to which.
    """
    lines, is_apart = [_Line("")], True
    for row in text.splitlines():
        if bare := re.sub(r"\s+", " ", row).strip():
            lines.append(_Line(bare, is_apart=is_apart))
        is_apart = not bare
    after = [*lines[1:], _Line(""), _Line("")]
    for at, line in enumerate(lines[1:]):
        figure, then = after[at + 1], after[at + 2]
        begins = bool(_DIGIT.search(lines[at].text)) or (line.is_apart and not figure.is_apart)
        if _is_label(line.text) and _is_bare(figure.text) and not _is_bare(then.text) and begins:
            yield f"{line.text} {figure.text}"
        elif not _is_bare(line.text):
            yield line.text


def pieces(line: str) -> Iterator[str]:
    """The statements of a line, each bounded in length."""
    for piece in _BETWEEN.split(_SPAN.sub(r"\1 to ", line)):
        for start in range(0, len(piece), _LONGEST_PIECE):
            yield piece[start : start + _LONGEST_PIECE].strip()


def by_sum(piece: str) -> Iterator[Segment]:
    """Each sum with what names it: the words before it, or those after if the piece begins with a sum."""
    found = list(_SUM.finditer(piece))
    if not found:
        return
    is_span = len(found) == 2 and _TO.fullmatch(piece[found[0].end() : found[1].start()])
    if is_span:
        yield from (Segment(piece, piece[: found[0].start()], _plain(one), one["pence"] is not None) for one in found)
        return
    is_named_before = _key_of(piece[: found[0].start()]) is not None or len(found) == 1
    for at, one in enumerate(found):
        start = (found[at - 1].end() if at else 0) if is_named_before else one.start()
        last = at + 1 == len(found)
        end = len(piece) if last else one.end() if is_named_before else found[at + 1].start()
        yield Segment(piece[start:end], piece[start : one.start()], _plain(one), one["pence"] is not None)


def _plain(one: re.Match[str]) -> str:
    return (one["pounds"] or one["pence"]).replace(",", "")


def label_of(segment: Segment) -> str | None:
    """The term that the words beside a sum name; None if they name none or another one."""
    if _OTHER.search(segment.text):
        return None
    if _EXTRA.search(segment.before) and not _PAID_FOR_CAR.search(segment.before):
        return None
    key = _key_of(segment.text)
    return None if segment.is_pence and key != EXCESS else key


def _key_of(text: str) -> str | None:
    return next((key for key, label in _LABELS if label.search(text)), None)


def frequency_of(text: str) -> str:
    """How often a payment falls due: "month", "week", or "" if the words don't say."""
    is_weekly, is_monthly = bool(_WEEK.search(text)), bool(_MONTH.search(text))
    return "" if is_weekly == is_monthly else "week" if is_weekly else "month"


def is_without_vat(text: str) -> bool:
    """Whether a quote says of all its sums that VAT comes on top."""
    return _ALL_WITHOUT_VAT.search(text) is not None


def shown(piece: str) -> str:
    """The words as a page shows them, cut where they are long."""
    bare = re.sub(r"^(?:and|then) ", "", piece.strip(" .,:"))
    return bare if len(bare) <= _LONGEST_SHOWN else f"{bare[:_LONGEST_SHOWN].rstrip()}…"


def _is_label(line: str) -> bool:
    return not _DIGIT.search(line) and (_key_of(line) is not None or _OTHER_LABEL.search(line) is not None)


def _is_bare(line: str) -> bool:
    return _BARE.fullmatch(line) is not None
