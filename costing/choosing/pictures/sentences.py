"""What would change the answer, in sentences: for each pair, where one figure makes the other offer the cheaper one.

Limits of money are rounded to whole pounds so that a sentence stays true: up where it says "above", down where "below".
"""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import groupby
from math import ceil, floor
from typing import NamedTuple

from costing.choosing.core.inputs import Place
from costing.choosing.core.switching import Switch
from costing.choosing.core.verdicts import PairVerdict
from costing.choosing.document.offer_keys import OFFER
from costing.choosing.document.schema import USE
from costing.choosing.pictures import wording
from costing.core.catalogue.running import AS_ASKED, INSURANCE, REPAIRS
from costing.core.money import to_places

#: From this many pence on, a limit is said in whole pounds.
_WHOLE_POUNDS_FROM = 100_00
_THINGS = {
    "value_at_horizon": "what {its} car fetches at the end",
    "payment": "{its} payment",
    "damage": "{its} charge for damage",
    "miles_per_year": "the miles in a year",
    "insurance": "insurance in the first year",
    "pence_per_litre": "the price of a litre",
    "pence_per_kwh": "the price of a kWh",
    **{part.key: part.varied for part in AS_ASKED if part.varied and part.key != "insurance"},
    "months": "the months until you leave",
    "weeks_off": "the weeks without lessons",
}
_WORDS = {key.name: f"{key.words[:1].lower()}{key.words[1:]}" for key in (*USE, *OFFER)}


class OfferPair(NamedTuple):
    """Two offers by their letters: what would make the other one cheaper, and what wouldn't within its range."""

    cheaper: str
    than: str
    if_same: str
    changes: list[str]
    no_changes: list[str]


def thing(place: Place, letters: Mapping[str, str]) -> str:
    """A figure that nobody may know for certain, as a sentence names it."""
    letter = letters.get(place.offer, "")
    words = _THINGS.get(place.input) or _WORDS.get(place.input) or place.input.replace("_", " ")
    if "{its}" in words:
        return words.format(its=f"{letter}’s" if letter else "each")
    return f"{words} for {letter}" if letter else words


def amount(place: Place, value: Fraction, rounded: str = "") -> str:
    """A value of a figure in its own unit; a limit is ``rounded`` "up" or "down"."""
    if place.unit == "pounds":
        return _money(value, rounded)
    if place.unit == "pence":
        return f"{to_places(Fraction(_whole(value * 10, rounded), 10), 1)}p"
    count = _whole(value, rounded)
    return f"{count:,} {place.unit.removesuffix('s') if count == 1 else place.unit}"


def _money(pence: Fraction, rounded: str) -> str:
    if not rounded or pence < _WHOLE_POUNDS_FROM:
        return wording.quoted(_whole(pence, rounded))
    return f"£{_whole(pence / 100, rounded):,}"


def _whole(value: Fraction, rounded: str) -> int:
    """A whole number: half up, or "up" or "down" to the side on which a limit stays true."""
    return {"up": ceil, "down": floor}.get(rounded, lambda exact: int(to_places(exact, 0)))(value)


def pairs(switches: Sequence[Switch], verdicts: Sequence[PairVerdict], letters: Mapping[str, str]) -> list[OfferPair]:
    """What would change the answer, pair by pair."""
    same = {frozenset((one.a, one.b)): one.if_same for one in verdicts}
    found = []
    for (cheaper, than), of_pair in groupby(switches, key=lambda one: (one.cheaper, one.than)):
        changes: list[str] = []
        no_changes: list[str] = []
        for place, group in groupby(of_pair, key=_place):
            rows = list(group)
            if rows[0].value is None:
                no_changes.append(_stays(rows[0], place, letters))
            else:
                changes += _changes(rows, place, letters)
        words = wording.if_same(same[frozenset((cheaper, than))], 2)
        found.append(OfferPair(letters[cheaper], letters[than], words, changes, no_changes))
    return found


def _place(switch: Switch) -> Place:
    return Place(switch.input, switch.offer, switch.at)


def _changes(rows: Sequence[Switch], place: Place, letters: Mapping[str, str]) -> Iterator[str]:
    """When the other offer is the cheaper one: one sentence for each stretch of values."""
    other = letters[rows[0].than]
    if place.input == "months":
        spans = sorted(row.value for row in rows if isinstance(row.value, tuple))
        words = " or ".join(f"{first}" if first == last else f"{first} to {last}" for first, last in spans)
        one_month = len(spans) == 1 and spans[0][0] == spans[0][1]
        when = "month" if one_month else "months"
        yield f"{other} is cheaper if you leave in {when} {words}. The plan has month {rows[0].base}."
        return
    values = sorted(row.value for row in rows if isinstance(row.value, Fraction))
    base = rows[0].base
    if place.input == "weeks_off":
        yield from (f"{other} is cheaper if you give no lessons for {words}." for words in _weeks(values))
        return
    subject = _moved(place, letters)
    verb = "are" if place.unit == "miles" or place.input == REPAIRS.key else "is"
    above, below = [v for v in values if v > base], [v for v in values if v < base][::-1]
    stretches = [*_stretches(above, place, "above"), *_stretches(below, place, "below")]
    if base in values:
        yield f"At {amount(place, base)}, the figure planned for {subject}, both cost the same."
    if stretches:
        planned = amount(place, base)
        yield f"{other} is cheaper if {subject} {verb} {' or '.join(stretches)}. The plan has {planned}."


def _moved(place: Place, letters: Mapping[str, str]) -> str:
    """A figure, with what moves along with it: each later premium stays in proportion to the first."""
    later = ", and in proportion in later years," if place.input == INSURANCE.key else ""
    return f"{thing(place, letters)}{later}"


def _stretches(values: Sequence[Fraction], place: Place, side: str) -> Iterator[str]:
    """The stretches on one side of the plan in which the other is cheaper: from each odd crossing to the next."""
    for at in range(0, len(values), 2):
        near, beyond = values[at], values[at + 1 : at + 2]
        if beyond:
            low, high = sorted((near, beyond[0]))
            yield f"between {amount(place, low, 'up')} and {amount(place, high, 'down')}"
        else:
            yield f"{side} {amount(place, near, 'up' if side == 'above' else 'down')}"


def _weeks(values: Sequence[Fraction]) -> Iterator[str]:
    """Weeks from the first on the other side to the last before the next change."""
    for at in range(0, len(values), 2):
        first, beyond = int(values[at]), values[at + 1 : at + 2]
        if not beyond:
            yield f"{first} weeks or more" if first > 1 else "a week or more"
        elif beyond[0] - 1 == first:
            yield f"{first} {'week' if first == 1 else 'weeks'}"
        else:
            yield f"{first} to {int(beyond[0]) - 1} weeks"


def _stays(switch: Switch, place: Place, letters: Mapping[str, str]) -> str:
    # Nobody leaves before the end of a month.
    low = max(switch.low, Fraction(1)) if place.input == "months" else switch.low
    subject = _moved(place, letters).removesuffix(",")
    return f"{subject}: anything from {amount(place, low)} to {amount(place, switch.high)}"
