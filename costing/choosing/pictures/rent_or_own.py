"""The answer to “Rent or your own?”: who is cheaper and by how much, or what would have to be true, and a drawing of it.

Each sentence holds whatever was left empty. Sums are whole pounds, and each is rounded to the side on which it stays true.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

from config.charts.room import RoomBelow
from costing.choosing.core.case import Case, Fuel, Running
from costing.choosing.core.figures import Figures, figures
from costing.choosing.core.verdicts import PairVerdict, verdicts
from costing.choosing.services.two_quotes import OWN, RENT, Told, case_of, open_sums
from costing.core.catalogue.running import FUEL, RUNNING_PARTS

#: As many as a sentence can hold; any more are “all the rest”, and named below.
_MOST_NAMED = 4
_OTHER_WORDS = {
    "damage": "damage when it goes back",
    "excess_miles": "extra miles when it goes back",
    "early_exit": "ending the rental early",
    "deposit": "any deposit",
    "final_payment": "any final payment",
}


class Answer(NamedTuple):
    """What the page says first, what it rests on in sentences, and the drawing if there is room to draw."""

    finding: str
    rests_on: tuple[str, ...]
    picture: RoomBelow | None = None


class Pair(NamedTuple):
    """Both offers, and what can be said of them with the parts left out that must cost both the same."""

    own: Figures
    rent: Figures
    verdict: PairVerdict
    if_same: tuple[str, ...]
    open_sums: tuple[str, ...]

    @property
    def months(self) -> int:
        return self.own.months

    @property
    def untold(self) -> tuple[str, ...]:
        """What is not told of one's own car, but for what it may fetch."""
        return (*self.open_sums, *(part for part in self.own.not_told if part != "value"))

    @property
    def fetches_nothing(self) -> bool:
        """Whether the car is counted as fetching nothing, because nobody has said what it may fetch."""
        return "value" in self.own.not_told


def answer_of(told: Told, today: date, nation: str) -> Answer:
    """The answer to figures of which nothing is asked any more."""
    pair = _pair_of(case_of(told, today, nation), open_sums(told))
    finding, picture = _finding_of(pair)
    return Answer(finding, tuple(_rests_on(pair, told)), picture)


def _pair_of(case: Case, open_: tuple[str, ...]) -> Pair:
    """Both offers, worked out once more with what costs both the same at nothing, so that their bounds are without it."""
    found = tuple(figures(case, offer) for offer in case.offers)
    (verdict,) = verdicts(case, found)
    if_same = verdict.if_same
    if if_same:
        case = case._replace(running=_at_nothing(case.running, if_same))
        found = tuple(figures(case, offer) for offer in case.offers)
        (verdict,) = verdicts(case, found)
    return Pair(*found, verdict, if_same, open_)


def _at_nothing(running: Running, parts: Iterable[str]) -> Running:
    keys = {RUNNING_PARTS[part].key: 0 for part in parts if part not in ("fuel", "insurance", "tyres")}
    changes: dict[str, object] = dict(keys)
    if "fuel" in parts:
        changes["fuel"] = (Fuel(FUEL_AT_NOTHING),)
    return running._replace(**changes)
