"""The answer in sentences: which offer is the cheapest, by how much, or what would have to be true.

Every sentence follows from verdicts on pairs (`core.verdicts`), and says no more than they do.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from costing.choosing.core.case import Use
from costing.choosing.core.figures import Figures
from costing.choosing.core.verdicts import PairVerdict
from costing.choosing.pictures import wording
from costing.core.catalogue.running import are_many


class Piece(NamedTuple):
    """A part of a sentence: words, or an offer, which a page shows by its mark."""

    words: str = ""
    letter: str = ""


Sentence = tuple[Piece, ...]

#: So many untold costs a head names; of more it says "the rest", and a sentence below it names them.
_MOST_NAMED = 4


class Answer(NamedTuple):
    """The answer in one sentence, and what is to be said beside it; ``leader`` names the offer it holds up, if any."""

    sentence: Sentence
    beside: tuple[Sentence, ...] = ()
    leader: str = ""


class Condition(NamedTuple):
    """What must be true for an offer to be cheaper than ``others``: what ``parts`` may come to, or its car fetches."""

    parts: tuple[str, ...]
    is_fetch: bool
    if_same: tuple[str, ...]
    room: int
    others: tuple[str, ...] = ()

    @property
    def costs(self) -> tuple[str, ...]:
        """The parts that cost something."""
        return tuple(part for part in self.parts if part != "value")

    def in_short(self, leader: Figures) -> tuple[str, tuple[Sentence, ...]]:
        """The condition as a head says it, and the sentence that names its costs where they are many."""
        if self.is_fetch or len(self.costs) <= _MOST_NAMED:
            return _holds(self, leader), ()
        rest = Piece(f"The rest: {wording.untold(self.costs)}.")
        return _holds(self, leader, "the rest of its costs"), ((rest,),)


class Lead(NamedTuple):
    """The offer that is cheaper than ``settled``, if some parts cost the same, and than the rest on conditions."""

    name: str
    settled: tuple[PairVerdict, ...]
    conditions: tuple[Condition, ...]

    @property
    def _same(self) -> list[tuple[str, ...]]:
        """The parts that must cost the same, against each other offer."""
        return [*(one.if_same for one in self.settled), *(one.if_same for one in self.conditions)]

    @property
    def is_even(self) -> bool:
        """Whether it is the same parts against every other offer."""
        return len({*self._same}) == 1

    @property
    def if_same(self) -> tuple[str, ...]:
        """All the parts that must cost the same for it to be the cheapest."""
        return tuple(dict.fromkeys(part for parts in self._same for part in parts))


def lead_of(figures: Sequence[Figures], verdicts: Sequence[PairVerdict]) -> Lead | None:
    """The offer that is cheaper than every other, or is so on conditions; None if there is none, or one offer only."""
    if len(figures) < 2:
        return None
    return next(filter(None, (_lead(one, verdicts) for one in figures)), None)


def other_of(verdict: PairVerdict, name: str) -> str:
    """The other offer of a pair."""
    return verdict.b if name == verdict.a else verdict.a


def _lead(one: Figures, verdicts: Sequence[PairVerdict]) -> Lead | None:
    name, settled, conditions = one.offer.name, [], []
    for verdict in verdicts:
        if name not in (verdict.a, verdict.b):
            continue
        if verdict.cheaper == name:
            settled.append(verdict)
        elif verdict.room is not None and verdict.room_of == name:
            parts = tuple(part for part in one.not_told if part not in verdict.if_same)
            others = (other_of(verdict, name),)
            conditions.append(Condition(parts, verdict.is_fetch, verdict.if_same, verdict.room, others))
        else:
            return None
    return Lead(name, tuple(settled), _merged(conditions))


def _merged(conditions: Sequence[Condition]) -> tuple[Condition, ...]:
    """Conditions on the same parts as one: the least room, or the most that the car must fetch."""
    found: dict[tuple[object, ...], Condition] = {}
    for one in conditions:
        key = (one.parts, one.is_fetch, one.if_same)
        was = found.get(key, one._replace(others=()))
        room = max(was.room, one.room) if one.is_fetch else min(was.room, one.room)
        found[key] = one._replace(room=room, others=(*was.others, *one.others))
    return tuple(found.values())


def answer(figures: Sequence[Figures], verdicts: Sequence[PairVerdict], letters: Mapping[str, str], use: Use) -> Answer:
    """What can be said of the offers, of which there is at least one; ``letters`` by name.

    Where one may leave before the horizon, it says that it speaks of the whole of it.
    """
    if len(figures) == 1:
        return Answer(_alone(figures[0], letters))
    by_name = {one.offer.name: one for one in figures}
    lead, stay = lead_of(figures, verdicts), f" if you stay all {use.months} months" if use.may_leave else ""
    if lead is None:
        return _nobody(by_name, verdicts, letters, stay)
    leader = Piece(letter=letters[lead.name])
    if not lead.conditions:
        less = tuple(_by_how_much(by_name, lead, letters))
        same = _and_same(lead.if_same, len(figures), "" if less else stay)
        return Answer((leader, Piece(f" is cheapest{stay}"), *less, Piece(f"{same}.")), (), lead.name)
    if len(lead.conditions) == 1 and (lead.is_even or not lead.if_same):
        holds, named = lead.conditions[0].in_short(by_name[lead.name])
        same = _and_same(lead.if_same, len(figures))
        return Answer((leader, Piece(f" is cheapest{_after(stay, holds)}{same}.")), named, lead.name)
    first, *rest = _against_each(by_name, lead, letters, stay)
    return Answer(first, tuple(rest), lead.name)


def _after(stay: str, holds: str) -> str:
    """A condition after the one that you stay, if there is that one."""
    return f"{stay},{holds}" if stay and holds else f"{stay}{holds}"


def _against_each(
    by_name: Mapping[str, Figures], lead: Lead, letters: Mapping[str, str], stay: str
) -> Iterator[Sentence]:
    """What must be true for the leader to be cheaper than these, and than those."""
    leader = Piece(letter=letters[lead.name]), Piece(" is cheaper than ")
    for one in lead.conditions:
        holds = _after(stay, _holds(one, by_name[lead.name]))
        words = f"{holds}{_and_same(one.if_same, len(one.others) + 1)}."
        yield (*leader, *_named(one.others, letters), Piece(words))
    for verdict in lead.settled:
        name = other_of(verdict, lead.name)
        yield (*leader, Piece(letter=letters[name]), Piece(f"{stay}{_and_same(verdict.if_same, 2, stay)}."))


def _alone(one: Figures, letters: Mapping[str, str]) -> Sentence:
    mark, over = Piece(letter=letters[one.offer.name]), f"over {one.months} months"
    if one.total is not None:
        return Piece("One offer so far: "), mark, Piece(f" costs {wording.pounds(one.total)} {over}.")
    words = f" comes to {wording.pounds(one.told)} {over}. Not told: {wording.untold(one.not_told)}."
    return Piece("One offer so far. What is told of "), mark, Piece(words)


def _by_how_much(by_name: Mapping[str, Figures], lead: Lead, letters: Mapping[str, str]) -> Iterator[Piece]:
    """How much less the leader costs than the next, where that can be said of all."""
    leader, found = by_name[lead.name], []
    for verdict in lead.settled:
        other = by_name[other_of(verdict, lead.name)]
        if not verdict.of:
            found.append((other.told - leader.told, "", other.offer.name))
        elif (most := leader.at_most_without(verdict.if_same)) is not None and other.at_least is not None:
            found.append((other.at_least - most, "at least ", other.offer.name))
        else:
            return
    pence, at_least, name = min(found)
    if pence > 0:
        less = pence // 100 * 100 or pence if at_least else pence
        yield Piece(f", {at_least}{wording.apart(less)} less than ")
        yield Piece(letter=letters[name])


def _and_same(parts: Sequence[str], count: int, stay: str = "") -> str:
    """That some parts must cost the same; right after another "if" with an "and"."""
    return f"{' and' if stay else ','} {wording.if_same(parts, count)}" if parts else ""


def _holds(one: Condition, leader: Figures, costs_in_short: str = "") -> str:
    """Under which condition the leader is the cheaper. Limits are rounded so that the sentence stays true."""
    if one.is_fetch:
        return f" as long as its car fetches at least £{-(-one.room // 100):,} at the end"
    costs, subject, plural, together = one.costs, costs_in_short, "s", ""
    if not subject:
        subject, together = f"its {wording.untold(costs)}", " together" if len(costs) > 1 else ""
        plural = "" if are_many(costs) else "s"
    monthly, is_monthly = one.room // leader.months // 100, wording.are_monthly(costs)
    if is_monthly and monthly:
        limit = f"stay{plural} below £{monthly:,} a month"
    else:
        over = "" if wording.RUNS_ON.isdisjoint(costs) else f" over the {leader.months} months"
        limit = f"come{plural} to less than {wording.apart(one.room // 100 * 100 or one.room)}{over}"
    sold = ", even if its car fetches nothing" if "value" in one.parts else ""
    return f" as long as {subject}{together} {limit}{sold}"


def _nobody(
    by_name: Mapping[str, Figures], verdicts: Sequence[PairVerdict], letters: Mapping[str, str], stay: str
) -> Answer:
    """No offer is cheaper than all others: because some cost the same, or because too much isn't told."""
    dearer = {other_of(one, one.cheaper) for one in verdicts if one.cheaper and not one.if_same}
    left = [name for name in by_name if name not in dearer]
    left = left if len(left) > 1 else list(by_name)
    between = [one for one in verdicts if {one.a, one.b} <= set(left)]
    if all(one.is_settled and one.cheaper is None for one in between):
        same = tuple(dict.fromkeys(part for one in between for part in one.if_same))
        words = (
            f" cost the same{stay}{_and_same(same, len(left), stay)}{', and no other costs less' if dearer else ''}."
        )
        return Answer((*_named(left, letters), Piece(words)))
    which, last = ("whether", "or") if len(left) == 2 else ("which of", "and")
    marks = _named(left, letters, last)
    sentence = (Piece(f"Nobody can say yet {which} "), *marks, Piece(f" is cheapest{stay}."))
    return Answer(sentence, tuple(_first_ask(by_name, between, letters, stay)))


def _first_ask(
    by_name: Mapping[str, Figures], between: Sequence[PairVerdict], letters: Mapping[str, str], stay: str
) -> Iterator[Sentence]:
    """What would have to be told, offer by offer, and what can be said of a pair all the same."""
    unsettled = [one for one in between if not one.is_settled]
    for name, one in by_name.items():
        of = {part for verdict in unsettled if name in (verdict.a, verdict.b) for part in verdict.of}
        parts = [part for part in one.not_told if part in of]
        if parts:
            yield Piece("Still to find out for "), Piece(letter=letters[name]), Piece(f": {wording.untold(parts)}.")
    yield from (_of_pair(one, by_name, letters, stay) for one in between if one.room is not None)
    yield from (_of_pair(one, by_name, letters, stay) for one in between if one.cheaper and one.if_same)


def _of_pair(verdict: PairVerdict, by_name: Mapping[str, Figures], letters: Mapping[str, str], stay: str) -> Sentence:
    """Under which conditions one of a pair is the cheaper."""
    name = verdict.cheaper or verdict.room_of or ""
    holds = ""
    if verdict.room is not None:
        parts = tuple(part for part in by_name[name].not_told if part not in verdict.if_same)
        holds = _holds(Condition(parts, verdict.is_fetch, verdict.if_same, verdict.room), by_name[name])
    same = _and_same(verdict.if_same, 2, "" if holds else stay)
    other, words = letters[other_of(verdict, name)], f"{_after(stay, holds)}{same}."
    return Piece(letter=letters[name]), Piece(" is cheaper than "), Piece(letter=other), Piece(words)


def _named(names: Sequence[str], letters: Mapping[str, str], last: str = "and") -> Iterator[Piece]:
    for index, name in enumerate(names):
        if index:
            yield Piece(f" {last} " if index == len(names) - 1 else ", ")
        yield Piece(letter=letters[name])


def plain(sentence: Sentence) -> str:
    """The sentence as text, with each offer's letter."""
    return "".join(piece.letter or piece.words for piece in sentence)
