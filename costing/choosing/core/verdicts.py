"""Which of two offers is cheaper whatever the untold costs come to, or what they may come to for one to be."""

from collections.abc import Sequence
from itertools import combinations
from typing import NamedTuple

from costing.choosing.core.case import Case
from costing.choosing.core.figures import Figures
from costing.choosing.core.not_told import PARTS
from costing.choosing.core.running import mot_months
from costing.choosing.core.ways_out import VALUE
from costing.core.catalogue.agreements import DAMAGE, EXCESS_MILES
from costing.core.catalogue.running import MOT, RUNNING_PARTS

#: What may be untold beside the value for it still to be solved: another way bounds them.
_BESIDE_VALUE = {VALUE, DAMAGE.name, EXCESS_MILES.name}


class PairVerdict(NamedTuple):
    """What can be said of two offers; ``a`` is the one with more parts not told.

    ``room`` is how much the untold costs of ``room_of`` may come to for it to be the cheaper, or what its car must
    fetch (``is_fetch``). ``of`` names what isn't told of either, and ``if_same`` the parts that must cost both the same
    for the verdict to hold.
    """

    a: str
    b: str
    cheaper: str | None
    is_settled: bool
    room: int | None
    room_of: str | None
    of: tuple[str, ...]
    if_same: tuple[str, ...]
    is_fetch: bool = False


def verdicts(case: Case, figures: Sequence[Figures]) -> tuple[PairVerdict, ...]:
    """The verdict on every pair of offers, in the order of the file."""
    return tuple(_verdict(case, *pair) for pair in combinations(figures, 2))


def cheapest_of(offers: Sequence[str], verdicts: Sequence[PairVerdict]) -> str | None:
    """The offer that is cheaper than every other whatever isn't told; None if there is none, or only one offer."""
    wins = [one.cheaper for one in verdicts if not one.if_same]
    return next((name for name in offers if len(offers) > 1 and wins.count(name) == len(offers) - 1), None)


class _Room(NamedTuple):
    """How far an open verdict is from being settled."""

    pence: int | None = None
    of: str | None = None
    is_fetch: bool = False


def _verdict(case: Case, first: Figures, second: Figures) -> PairVerdict:
    a, b = (second, first) if len(second.not_told) > len(first.not_told) else (first, second)
    same = _if_same(case, a, b)
    untold = {*a.not_told, *b.not_told} - {*same}
    names = (a.offer.name, b.offer.name)
    of = tuple(part for part in PARTS if part in untold)
    is_a, is_b = _is_cheaper(a, b, same), _is_cheaper(b, a, same)
    if is_a or is_b:
        cheaper = None if is_a and is_b else names[0] if is_a else names[1]
        return PairVerdict(*names, cheaper, True, None, None, of, same)
    room = _room(a, b, same)
    return PairVerdict(*names, None, False, room.pence, room.of, of, same, room.is_fetch)


def _is_cheaper(one: Figures, other: Figures, same: Sequence[str]) -> bool:
    """Whether one costs no more than the other, whatever the untold parts come to but for those left out."""
    most, least = one.at_most_without(same), other.at_least
    return most is not None and least is not None and most <= least


def _room(a: Figures, b: Figures, same: Sequence[str]) -> _Room:
    untold_a, untold_b = ({*one.not_told} - {*same} for one in (a, b))
    for one, untold, other, others in ((a, untold_a, b, untold_b), (b, untold_b, a, untold_a)):
        if not others and VALUE in untold <= _BESIDE_VALUE and one.most_above is not None:
            return _Room(one.if_sold - other.told, one.offer.name, is_fetch=True)
    for one, other in ((a, b), (b, a)):
        if other.at_least is not None and one.told < other.at_least:
            return _Room(other.at_least - one.told, one.offer.name)
    return _Room()


def _if_same(case: Case, a: Figures, b: Figures) -> tuple[str, ...]:
    """The running parts that are untold of both, and would cost both the same if the common table told them."""
    shared = [RUNNING_PARTS[part] for part in a.not_told if part in RUNNING_PARTS and part in b.not_told]
    if not shared:
        return ()
    own = {field for one in (a, b) for field, value in one.offer.running._asdict().items() if value is not None}
    tested = [mot_months(one.offer, case.use, one.months) for one in (a, b)]
    return tuple(
        part.name for part in shared if not own & {*part.fields} and (part is not MOT or tested[0] == tested[1])
    )
