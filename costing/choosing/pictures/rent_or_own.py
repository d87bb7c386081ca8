"""The answer to “Rent or your own?”: who is cheaper, or what would have to be true, and a drawing of it.

Each sentence holds whatever was left empty: sums are whole pounds, rounded to the side on which they stay true.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import NamedTuple

from config.charts.room import RoomBelow
from costing.choosing.core.case import Case
from costing.choosing.core.figures import Figures, figures
from costing.choosing.core.verdicts import PairVerdict, verdicts
from costing.choosing.pictures import wording
from costing.choosing.services.two_quotes import OWN, RENT, USUALLY_INCLUDED, Told, case_of, is_left_early, open_sums
from costing.core.catalogue.running import INSURANCE, RUNNING_PARTS, are_many

#: As many parts as a sentence can hold; any more are “all the rest”, and named below.
_MOST_NAMED = 4
_SUBJECTS = {OWN: "Your own car is", RENT: "Renting is"}
_WITHIN = {OWN: "your own is cheaper", RENT: "renting is cheaper"}
_LETTERS = {OWN: "A", RENT: "B"}
_WORDS = {
    "deposit": "any deposit",
    "final_payment": "any final payment",
    "fees": "any fees",
    "damage": "damage when it goes back",
    "excess_miles": "extra miles when it goes back",
}
#: The same of the rented car, where a sentence is about the other one.
_OF_RENT = {"damage": "damage to the rented car", "fuel": "fuel for the rented car"}
_LEFT_BY = {
    "settle": "what is owed then is settled, and the car sold",
    "half_rule": "it goes back once half of its whole price is paid, which hire purchase and PCP allow and a bank loan "
    "does not",
}


class Answer(NamedTuple):
    """What the page says first, what that rests on, a sentence each, and a drawing where there is room to draw."""

    finding: str
    rests_on: tuple[str, ...]
    picture: RoomBelow | None
    rows: tuple["MoneyRow", ...]


class MoneyRow(NamedTuple):
    """What one part of the money comes to for either, in whole pounds; empty where there is nothing of it."""

    words: str
    own: str
    rent: str


class Pair(NamedTuple):
    """Both offers, the verdict on them, and the sums of the credit that nobody has typed."""

    own: Figures
    rent: Figures
    verdict: PairVerdict
    open_sums: tuple[str, ...]

    @property
    def if_same(self) -> tuple[str, ...]:
        """The parts that are left out of both, because the verdict holds if they cost both the same."""
        return self.verdict.if_same

    @property
    def months(self) -> int:
        return self.own.months

    @property
    def these_months(self) -> str:
        """What is compared over, after "over" or "for"."""
        return f"these {self.months} months" if self.months > 1 else "this one month"

    @property
    def cheaper(self) -> str | None:
        """The offer that is cheaper, or would be on a condition."""
        return self.verdict.cheaper or (self.verdict.room_of if self.verdict.room is not None else None)

    @property
    def is_exact(self) -> bool:
        """Whether all is told of both, so that the difference is known."""
        return not self.untold_of(OWN) and not self.untold_of(RENT) and not self.fetches_nothing

    @property
    def fetches_nothing(self) -> bool:
        """Whether nobody has said what the car of one's own may fetch, so that it counts as nothing."""
        return "value" in self.own.not_told

    def untold_of(self, name: str) -> tuple[str, ...]:
        """What is not told of an offer and not left out, but for what its car may fetch."""
        found, sums = (self.own, self.open_sums) if name == OWN else (self.rent, ())
        return (*sums, *(part for part in found.not_told if part not in (*self.if_same, "value")))

    def least_between(self, dearer: Figures, cheaper: Figures) -> int:
        """By how much at least the one is dearer; both bounds are known once the verdict is settled."""
        return (dearer.at_least or 0) - (cheaper.at_most_without(self.if_same) or 0)


def answer_of(told: Told, today: date, nation: str) -> Answer:
    """The answer to figures of which nothing is asked any more."""
    pair = _pair_of(case_of(told, today, nation), open_sums(told))
    room = _room_of(pair)
    finding = f"{_finding(pair, room)}{_if_same(pair, room is not None)}."
    return Answer(finding, tuple(_rests_on(pair, room, told)), _picture(pair, room, finding), tuple(_rows(pair)))


def _pair_of(case: Case, open_: tuple[str, ...]) -> Pair:
    own, rent = (figures(case, offer) for offer in case.offers)
    (verdict,) = verdicts(case, (own, rent))
    return Pair(own, rent, verdict, open_)


class Room(NamedTuple):
    """What the ``parts`` of ``name`` may come to, in pence, for it to be the cheaper one."""

    name: str
    parts: tuple[str, ...]
    pence: int


def _room_of(pair: Pair) -> Room | None:
    """The room that there is, if any: of a settled verdict, for the sums that nobody has typed."""
    verdict = pair.verdict
    if verdict.cheaper == OWN and pair.open_sums:
        return Room(OWN, pair.open_sums, pair.least_between(pair.rent, pair.own))
    if verdict.room is None or verdict.room_of is None or verdict.is_fetch:
        return None
    return Room(verdict.room_of, pair.untold_of(verdict.room_of), verdict.room)


def _finding(pair: Pair, room: Room | None) -> str:
    verdict = pair.verdict
    if room:
        return f"{_SUBJECTS[room.name]} cheaper as long as {_condition(room, pair.months)}"
    if verdict.is_fetch and verdict.room is not None:
        extra = f", with {_named(pair.open_sums)} on top" if pair.open_sums else ""
        return f"{_SUBJECTS[OWN]} cheaper as long as it fetches more than {_above(verdict.room)} at the end{extra}"
    if verdict.cheaper:
        return f"{_SUBJECTS[verdict.cheaper]} cheaper{_by_how_much(pair)}"
    if verdict.is_settled:
        return "Renting costs the same or less" if pair.open_sums else "Both cost the same"
    return "What your own car fetches decides it" if pair.fetches_nothing else "Nobody can say yet"


def _by_how_much(pair: Pair) -> str:
    own, rent = pair.own, pair.rent
    is_own = pair.verdict.cheaper == OWN
    pence = pair.least_between(rent, own) if is_own else pair.least_between(own, rent)
    if pence < 100:
        return ""
    return f", by {wording.pounds(pence)}" if pair.is_exact else f", by at least {_below(pence)}"


def _condition(room: Room, months: int) -> str:
    """What must hold for the room's offer to be the cheaper one, in a sentence as short as it can be."""
    is_many = len(room.parts) > _MOST_NAMED
    parts = "all the rest" if is_many else _named(room.parts)
    is_plural = not is_many and (room.parts == ("fees",) or are_many(room.parts))
    together = " together" if len(room.parts) > 1 and not is_many else ""
    if monthly := _monthly(room, months):
        return f"{parts}{together} {'stay' if is_plural else 'stays'} below £{monthly:,} a month"
    return f"{parts}{together} {'come' if is_plural else 'comes'} to less than {_below(room.pence)}"


def _monthly(room: Room, months: int) -> int:
    """The room a month in whole pounds; 0 where it is less, or where all of the parts are paid only once."""
    is_running = any(part in wording.MONTHLY for part in room.parts)
    return room.pence // months // 100 if is_running else 0


def _if_same(pair: Pair, is_condition: bool) -> str:
    """The condition that goes with a finding of which something is left out."""
    if not pair.if_same or (pair.cheaper is None and not pair.verdict.is_settled):
        return ""
    verb = "cost" if are_many(pair.if_same) else "costs"
    words = f"{wording.untold(pair.if_same)} {verb} the same for both"
    return f", and {words}" if is_condition or pair.verdict.is_fetch else f", if {words}"


def _picture(pair: Pair, room: Room | None, title: str) -> RoomBelow | None:
    if room is None:
        return None
    monthly = _monthly(room, pair.months)
    limit = f"£{monthly:,}" if monthly else _below(room.pence)
    return RoomBelow(title, _LETTERS[room.name], _WITHIN[room.name], limit)


def _rests_on(pair: Pair, room: Room | None, told: Told) -> Iterator[str]:
    if room:
        yield from _of_room(pair, room)
    elif pair.cheaper is None and not pair.verdict.is_settled:
        yield from _of_nothing(pair)
    if told["value_at_horizon"] is not None:
        after = f"{pair.months} month{'s' if pair.months > 1 else ''}"
        yield f"Counted: your own car fetches {wording.pounds(told['value_at_horizon'])} after {after}."
    if whatever := list(_whatever(pair)):
        yield f"True {' and '.join(whatever)}."
    if pair.if_same:
        verb = "are" if are_many(pair.if_same) else "is"
        yield f"{_capital(wording.untold(pair.if_same))} {verb} left out for both."
    if is_left_early(told):
        yield f"You leave while the payments still run: {_LEFT_BY[pair.own.way_out]}."
    if pair.cheaper != OWN or room is None:
        yield f"The rental is counted for {pair.these_months}, with no deposit and nothing for ending it then."
    yield from (f"We assume {wording.assumed(key)}{of_which}." for key, of_which in _assumed(pair).items())


def _assumed(pair: Pair) -> dict[str, str]:
    """What the finding takes for granted, and of which car where both have it. What makes it truer is not said."""
    found: dict[str, str] = {}
    for one, of_which in ((pair.own, " of your own car"), (pair.rent, " of the rental")):
        is_cheaper = one.offer.name == pair.cheaper
        for key in one.assumed:
            if pair.is_exact or pair.cheaper is None or _matters(key, is_cheaper=is_cheaper):
                found[key] = " of either car" if key in found else of_which
    return {key: of_which if key == "mileage_allowance" else "" for key, of_which in found.items()}


def _matters(key: str, *, is_cheaper: bool) -> bool:
    """Whether something taken for granted could make the finding untrue: it favours the cheaper one."""
    return not ((key == "mileage_allowance" and not is_cheaper) or (key == INSURANCE.given_back_key and is_cheaper))


def _of_room(pair: Pair, room: Room) -> Iterator[str]:
    if len(room.parts) > _MOST_NAMED:
        yield f"The rest: {_named(room.parts)}."
    if _monthly(room, pair.months):
        yield f"That is {_below(room.pence)} over {pair.these_months}."


def _of_nothing(pair: Pair) -> Iterator[str]:
    """What can be said before anybody knows which is cheaper."""
    more = pair.own.told - pair.rent.told
    add = pair.untold_of(OWN)
    words = f", with {_named(add)} still to add" if add else ""
    much = f"{wording.pounds(more)} more than" if more else "as much as"
    yield f"So far your own car comes to {much} renting over {pair.these_months}{words}."
    yield "Type what it may fetch at the end." if pair.fetches_nothing else "Type what is still to add."


def _whatever(pair: Pair) -> Iterator[str]:
    """What may turn out as it likes, because the finding that one's own car is cheaper holds all the same."""
    if pair.cheaper != OWN or pair.verdict.is_fetch:
        return
    if pair.fetches_nothing:
        yield "even if your own car fetched nothing"
    if charges := pair.untold_of(RENT):
        yield f"whatever {wording.listed([_OF_RENT.get(part) or _named([part]) for part in charges])} may cost"


def _rows(pair: Pair) -> Iterator[MoneyRow]:
    """All that is told of either, by part, and what it comes to."""
    own, rent = pair.own.flow.parts, pair.rent.flow.parts
    for part, words in wording.PARTS.items():
        if own.get(part) or rent.get(part):
            yield MoneyRow(words, *(wording.figure(parts[part]) if parts.get(part) else "" for parts in (own, rent)))
    is_all = not pair.own.not_told and not pair.rent.not_told and not pair.open_sums
    words = "In all" if is_all else "All that is told"
    yield MoneyRow(words, wording.figure(pair.own.told), wording.figure(pair.rent.told))


def covers(told: Told) -> str:
    """What the rent covers, as its fold says."""
    included = told.get("includes", USUALLY_INCLUDED)
    left_out = [name for name in RUNNING_PARTS if name not in included]
    if not left_out:
        return "The rent covers everything"
    if not included:
        return "The rent covers the car alone"
    if len(left_out) > len(included):
        return f"The rent covers {wording.untold([name for name in RUNNING_PARTS if name in included])} only"
    return f"The rent covers all but {wording.untold(left_out)}"


def _named(parts: Sequence[str]) -> str:
    return wording.listed([_WORDS.get(part) or wording.untold([part]) for part in parts])


def _below(pence: int) -> str:
    """Whole pounds, never more than the sum; in pence where that is less than a pound."""
    return f"£{pence // 100:,}" if pence >= 100 else f"{pence}p"


def _above(pence: int) -> str:
    """Whole pounds, never less than the sum."""
    return f"£{-(-pence // 100):,}"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
