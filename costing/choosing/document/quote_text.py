"""What the text of a quote says about an offer, each with the words it was found in.

Nothing is guessed. A sum counts only beside a label that names it, and what could be read in two ways has no value,
only the words that somebody has to look at. The time is linear in the length of the text, which nobody keeps.
"""

from collections.abc import Iterator
from decimal import Decimal
from enum import Enum
from typing import NamedTuple

from costing.choosing.document import quote_words as words


class Doubt(Enum):
    """Why something that was found has no value."""

    NONE = ""
    MANY = "the quote has several"
    WITHOUT_VAT = "the quote has it without VAT"
    FIRST_RENTAL = "the initial rental may be one of them"
    OTHER_UNIT = "the term isn't in the unit of the payments"


class Finding(NamedTuple):
    """One term of an offer as somebody would type it, "" if in ``doubt``; ``words`` are those of the quote."""

    key: str
    value: str
    words: tuple[str, ...]
    doubt: Doubt = Doubt.NONE


class _Candidate(NamedTuple):
    key: str
    value: str
    words: str
    doubt: Doubt = Doubt.NONE


class _Term(NamedTuple):
    """A length such as "over 36 months", from which the number of payments may follow."""

    number: int
    unit: str
    words: str


def read_quote(text: str) -> dict[str, Finding]:
    """What the text says, by the key of the offer's term: at most one finding for each."""
    pieces = [piece for line in words.joined(text) for piece in words.pieces(line)]
    without_vat = words.is_without_vat(text)
    candidates = [candidate for piece in pieces for candidate in _in_piece(piece, without_vat)]
    found = {key: _settled(key, candidates) for key in dict.fromkeys(one.key for one in candidates)}
    terms = [term for piece in pieces for term in _terms(piece)]
    if "payments" not in found and (length := _of_terms(terms, found)):
        found["payments"] = length
    return found


def _settled(key: str, candidates: list[_Candidate]) -> Finding:
    """One finding of all that could be this term."""
    here = [one for one in candidates if one.key == key]
    in_words = tuple(dict.fromkeys(one.words for one in here))
    if len({one.value for one in here}) > 1:
        return Finding(key, "", in_words, Doubt.MANY)
    doubt = next((one.doubt for one in here if one.doubt is not Doubt.NONE), Doubt.NONE)
    return Finding(key, "" if doubt is not Doubt.NONE else here[0].value, in_words[:1], doubt)


def _in_piece(piece: str, without_vat: bool) -> Iterator[_Candidate]:
    for segment in words.by_sum(piece):
        yield from _sum_of(segment, without_vat)
    if found := words.APR.search(piece):
        yield _Candidate("quoted_apr", found["before"] or found["after"], words.shown(piece))
    if words.IS_ASIDE.search(piece):
        return
    if found := words.MILES.search(piece):
        yield _Candidate("mileage_allowance", _whole(found["before"] or found["after"]), words.shown(piece))
    if found := words.COUNT.search(piece):
        yield _Candidate("payments", next(filter(None, found.groups())), words.shown(piece))


def _sum_of(segment: words.Segment, without_vat: bool) -> Iterator[_Candidate]:
    """The term that one sum is, and how often it is paid."""
    key = words.label_of(segment)
    if key is None:
        return
    in_words = words.shown(segment.text)
    doubt = Doubt.WITHOUT_VAT if without_vat or words.WITHOUT_VAT.search(segment.text) else Doubt.NONE
    is_in_pounds = key == words.EXCESS and not segment.is_pence
    value = f"{(Decimal(segment.value) * 100).normalize():f}" if is_in_pounds else segment.value
    yield _Candidate(key, value, in_words, doubt)
    if key == "payment" and (frequency := words.frequency_of(segment.text)):
        yield _Candidate("frequency", frequency, in_words)


def _terms(piece: str) -> Iterator[_Term]:
    if words.IS_ASIDE.search(piece) or words.IS_AT_START.search(piece):
        return
    if found := words.TERM.search(piece):
        count, unit = (one for one in found.groups() if one)
        yield _Term(int(count), unit.rstrip("s"), words.shown(piece))
    elif found := words.TERM_IN.search(piece):
        yield _Term(int(found["count"]), found["unit"].rstrip("s"), words.shown(piece))


def _of_terms(terms: list[_Term], found: dict[str, Finding]) -> Finding | None:
    """The number of payments that a length gives, if it gives one without a guess."""
    if not terms:
        return None
    in_words = tuple(dict.fromkeys(term.words for term in terms))
    frequency = found["frequency"].value if "frequency" in found else "month"
    in_a = {frequency: 1, "year": 52 if frequency == "week" else 12}
    if any(term.unit not in in_a for term in terms):
        return Finding("payments", "", in_words, Doubt.OTHER_UNIT)
    counts = {term.number * in_a[term.unit] for term in terms}
    if len(counts) > 1:
        return Finding("payments", "", in_words, Doubt.MANY)
    if any(words.IS_RENTAL_AT_START.search(one) for one in (found["deposit"].words if "deposit" in found else ())):
        return Finding("payments", "", in_words[:1], Doubt.FIRST_RENTAL)
    return Finding("payments", str(counts.pop()), in_words[:1])


def _whole(number: str) -> str:
    """Whole miles without commas; 10k is 10000."""
    bare = number.replace(",", "").lower()
    return f"{bare[:-1]}000" if bare.endswith("k") else bare
