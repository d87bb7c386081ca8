"""How an entry is held against its limits: each check is a figure and its range, and what is meant passes them all."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NamedTuple

from fleet.core.plausible.doubt import MOST_MEANINGS, Change, Doubt, Meaning, Typed

#: Beyond any figure: a range up to it has no end.
FAR = 10**9


class Check(NamedTuple):
    """One figure of an entry against its range, both ends counted; ``middle`` is what is expected."""

    field: str
    reason: str
    value: int
    low: int
    middle: int
    high: int
    rests_on: tuple[str, ...]
    figures: Mapping[str, int | str]
    may_be_right: bool = True

    @property
    def is_met(self) -> bool:
        """Whether the figure lies within its range."""
        return self.low <= self.value <= self.high

    @property
    def off(self) -> int:
        """How far the figure lies from what is expected, in thousandths of its range, which may be empty."""
        return min(1000 * abs(self.value - self.middle) // max(1, self.high - self.low + 1), FAR)


class Candidate(NamedTuple):
    """What may be meant instead: fields with other values, how unusual the slip is, and the name of its words."""

    rank: int
    changes: Mapping[str, int | str | None]
    name: str = ""


class _Fit(NamedTuple):
    """A candidate that leaves ``left`` doubts, ``raised`` of them new, in the order in which they are offered."""

    raised: int
    left: int
    rank: int
    off: int
    place: int


Checking = Callable[[Typed], Sequence[Check]]
Writing = Callable[[str, int | str | None], str]


def weigh(typed: Typed, check: Checking, candidates: Callable[[], Iterable[Candidate]], write: Writing) -> list[Doubt]:
    """The doubts about an entry, each with the candidates that are plausible where the entry is not.

    Those that pass all checks are offered, the most usual slip first, of the same the nearest to what is expected. Then
    all doubts stand at the field that is most likely wrong, so that one answer is enough. If none passes them all, each
    doubt has those that settle it, those last that raise another. ``write`` gives a field's value as it is typed.
    """
    faults = _faults(check(typed))
    if not faults:
        return []
    reasons = {fault.reason for fault in faults}
    tried = list(candidates())
    fits: list[tuple[_Fit, set[str]]] = []
    for place, candidate in enumerate(tried):
        checked = check({**typed, **candidate.changes})
        remaining = _faults(checked)
        if any(not one.may_be_right and one.reason not in reasons for one in remaining):
            continue
        left = {fault.reason for fault in remaining}
        if reasons - left and len(left) <= len(reasons):
            off = sum(one.off for one in checked)
            fits.append((_Fit(len(left - reasons), len(left), candidate.rank, off, place), reasons - left))
    fits = _once(sorted(fits, key=lambda fit: fit[0]), tried)
    whole = [fit for fit in fits if not fit[0].left]
    if len(whole) < len(fits) and len(faults) > 1 and all("leave_out" in tried[one.place].changes for one, _ in whole):
        # To leave it out is no answer to what else is asked: it is one way among others.
        whole = []
    likely = (_place(typed, tried[whole[0][0].place]) or faults[0].field) if whole else None
    doubts = []
    for fault in faults:
        offered = [tried[fit.place] for fit, settled in whole or fits if fault.reason in settled][:MOST_MEANINGS]
        doubts.append(_doubt(fault, likely or fault.field, typed, offered, write))
    return sorted(doubts, key=lambda doubt: doubt.may_be_right)


def _once(fits: Iterable[tuple[_Fit, set[str]]], tried: Sequence[Candidate]) -> list[tuple[_Fit, set[str]]]:
    """The fits without those that change the same as an earlier one: of two slips the more usual counts."""
    found: list[tuple[_Fit, set[str]]] = []
    for fit in fits:
        if all(tried[one.place].changes != tried[fit[0].place].changes for one, _ in found):
            found.append(fit)
    return found


def _place(typed: Typed, likely: Candidate) -> str | None:
    """The figure or day that the likely meaning changes first; None if it changes none."""
    return next((name for name in likely.changes if name.endswith("_on") or isinstance(typed.get(name), int)), None)


def _faults(checked: Iterable[Check]) -> list[Check]:
    return [one for one in checked if not one.is_met]


def _doubt(fault: Check, field: str, typed: Typed, offered: Iterable[Candidate], write: Writing) -> Doubt:
    meanings = tuple(
        Meaning(tuple(Change(name, write(name, value)) for name, value in one.changes.items()), one.name)
        for one in offered
    )
    rests_on = tuple(Change(name, write(name, typed[name])) for name in fault.rests_on)
    return Doubt(field, fault.reason, fault.figures, rests_on, meanings, fault.may_be_right)
