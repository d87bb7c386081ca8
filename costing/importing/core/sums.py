"""The numbers of a column. Whether a comma or a point parts the decimals is read from the whole column."""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

_CELL = re.compile(
    r"(?P<open>\()?\s*(?P<minus>[-+])?\s*(?:£|gbp)?\s*(?P<second>[-+])?\s*(?P<digits>[0-9.,](?:[0-9., ]*[0-9.,])?)"
    r"\s*(?P<pence>p|pence)?\s*(?:£|gbp)?\s*(?P<last>-)?\s*(?P<close>\))?\s*(?P<mark>dr|cr|db|d|c)?\.?"
)
_POINT = re.compile(r"(?:[0-9]+|[0-9]{1,3}(?:,[0-9]{3})+|[0-9]{1,3}(?: [0-9]{3})+)?(?:\.[0-9]*)?")
_COMMA = re.compile(r"(?:[0-9]+|[0-9]{1,3}(?:\.[0-9]{3})+|[0-9]{1,3}(?: [0-9]{3})+)?(?:,[0-9]*)?")
_FOREIGN = re.compile(r"[$€¥]|\b(?:eur|usd|chf|jpy|nok|sek|dkk|pln|aud|cad)\b")
#: A book has no figure of half as many.
_MOST_DIGITS = 15
_MINUSES = str.maketrans({"−": "-", "–": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " "})


class Sum(NamedTuple):
    """A number as it was written; ``mark`` is "out" (DR) or "in" (CR) where the cell says which way money went."""

    value: Decimal
    mark: str = ""


class _Cell(NamedTuple):
    digits: str
    is_below: bool
    is_pence: bool
    mark: str


def read_sums(cells: Sequence[str], *, places: int, in_pence: bool = False) -> list[Sum | str | None]:
    """Return each cell's number, why it is none (as words after the column's name), or None where it is empty.

    ``places`` bounds the decimals, of pounds if the column is ``in_pence``.
    """
    found = [_cell(text) for text in cells]
    written = [one for one in found if isinstance(one, _Cell)]
    has_commas = (
        not all(_fits(one.digits, _POINT, ".", places) for one in written)
        and all(_fits(one.digits, _COMMA, ",", places) for one in written)
        and any("," in one.digits for one in written)
    )
    return [
        _number(one, text, places=places, has_commas=has_commas, in_pence=in_pence) if isinstance(one, _Cell) else one
        for one, text in zip(found, cells, strict=True)
    ]


def _cell(text: str) -> _Cell | str | None:
    bare = " ".join(text.translate(_MINUSES).lower().split())
    if not bare or bare == "-":
        return None
    if _FOREIGN.search(bare):
        return f"“{_short(text)}” is not in pounds"
    match = _CELL.fullmatch(bare)
    signs = match and [match["minus"] == "-", match["second"] == "-", bool(match["last"]), bool(match["open"])]
    if (
        not match
        or not signs
        or bool(match["open"]) != bool(match["close"])
        or sum(signs) > 1
        or (match["minus"] and match["second"])
    ):
        return f"“{_short(text)}” is not a number"
    mark = {"d": "out", "c": "in"}.get((match["mark"] or "")[:1], "")
    return _Cell(match["digits"], any(signs), bool(match["pence"]), mark)


def _number(one: _Cell, text: str, *, places: int, has_commas: bool, in_pence: bool) -> Sum | str:
    pattern, point = (_COMMA, ",") if has_commas else (_POINT, ".")
    if not pattern.fullmatch(one.digits) or not any(map(str.isdigit, one.digits)):
        other = (_POINT if has_commas else _COMMA).fullmatch(one.digits)
        way = ": in this column decimals come after a point" if other and not has_commas else ""
        return f"“{_short(text)}” cannot be read for certain{way}"
    whole, _, fraction = re.sub(r"[ .,]", lambda part: "." if part[0] == point else "", one.digits).partition(".")
    if len(whole) + len(fraction) > _MOST_DIGITS:
        return f"“{_short(text)}” has too many digits"
    value = Decimal(f"{whole or '0'}.{fraction or '0'}")
    value = value / 100 if one.is_pence or in_pence else value
    if value != round(value, places):
        return f"“{_short(text)}” has more than {places} decimal places" if places else f"“{_short(text)}” is not whole"
    exact = round(value, places)
    return Sum(-exact if one.is_below and exact else exact, one.mark)


def _fits(digits: str, pattern: re.Pattern[str], point: str, places: int) -> bool:
    """Whether the digits are written in a style, with no more decimals than there may be."""
    return bool(pattern.fullmatch(digits)) and len(digits.partition(point)[2].rstrip("0")) <= places


def _short(text: str) -> str:
    return text if len(text) <= 30 else f"{text[:29]}…"
