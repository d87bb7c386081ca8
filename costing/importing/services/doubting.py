"""Whether rows can be right: each is held against what went before it, in the book and in the file."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any, NamedTuple

from config.asking import fill as filled
from costing.core.plausible import typed
from costing.core.plausible.running import Running, doubts_of
from costing.importing.services.amending import as_text, may_be_taken
from costing.models import CostEntry, Entry, Fill, TeachingRecord
from costing.queries.plausible import group_sums
from costing.wording.doubts import DOUBT_WORDS
from fleet.core.plausible.doubt import Doubt, Limits, Meaning
from fleet.models import Car
from fleet.queries import raw_readings_of
from instructors.models import Member

_MODELS: Mapping[str, tuple[type[Entry], str]] = {
    "cost": (CostEntry, "paid_on"),
    "fill": (Fill, "filled_on"),
    "lessons": (TeachingRecord, "from_on"),
}
_TYPED = {"cost": typed.cost, "fill": typed.fill, "lessons": typed.lessons}
#: So far back the book tells what is usual.
_BACK = timedelta(days=730)
#: What the rows are asked about anyway, because they look like others.
_ASKED_ANYWAY = {"same_cost", "same_fill", "week_taken", "days_taken", "days_logged", "days_logged_apart"}


class Told(NamedTuple):
    """One row as its action takes it, and which row it is."""

    place: int
    number: int
    figures: Mapping[str, Any]


class Asked(NamedTuple):
    """What is asked about a row: each reason with why, and whether the row may be right all the same.

    ``meanings`` finds what may be meant, as pairs of a text and its words. That takes time, so it is for the rows that
    a page shows.
    """

    why: dict[str, str]
    may_be_right: bool
    meanings: Callable[[], list[tuple[str, str]]]


def doubts_about(member: Member, kind: str, rows: Sequence[Told], today: date) -> dict[int, Asked]:
    """Return what is asked about rows, by their place; two queries for each car."""
    by_car: dict[Car, list[Told]] = {}
    for row in rows:
        by_car.setdefault(row.figures["car"], []).append(row)
    found: dict[int, Asked] = {}
    for car, its in by_car.items():
        for row, doubts, limits in _of_car(member, kind, car, its, today):
            found[row.place] = _asked(row, doubts, limits, kind, today)
    return found


def _of_car(
    member: Member, kind: str, car: Car, rows: Sequence[Told], today: date
) -> Iterator[tuple[Told, list[Doubt], Limits]]:
    """Go through book and file together, day by day: what is in the book is known, what is asked is not."""
    model, field = _MODELS[kind]
    days = [row.figures[field] for row in rows]
    within = {f"{field}__range": (min(days) - _BACK, max(days))}
    book = model._default_manager.filter(member=member, car=car, voided_at__isnull=True, **within)
    readings = raw_readings_of([car.pk], since=min(days) - _BACK)[car.pk] if car.keeper_id == member.pk else []
    before = [one for one in readings if one.read_on <= min(days)]
    running = Running(car.fuel, today, readings=before, of_group=group_sums() if kind == "cost" else {})
    for one, figures in _in_order(book, rows, field):
        told = _TYPED[kind](figures)
        if one is None:
            running.add(kind, told)
            continue
        if doubts := _asked_of(running.doubts(kind, told, with_meanings=False)):
            yield one, doubts, running.limits(kind)
        else:
            running.add(kind, told)


def _in_order(book: Iterable[Entry], rows: Sequence[Told], field: str) -> list[tuple[Told | None, Mapping[str, Any]]]:
    both: list[tuple[Told | None, Mapping[str, Any]]] = [(None, vars(entry)) for entry in book]
    both += [(row, row.figures) for row in rows]
    return sorted(both, key=lambda one: (one[1][field], one[1].get("odometer", 0)))


def _asked_of(doubts: Iterable[Doubt]) -> list[Doubt]:
    return [doubt for doubt in doubts if doubt.reason not in _ASKED_ANYWAY]


def _asked(row: Told, doubts: Sequence[Doubt], limits: Limits, kind: str, today: date) -> Asked:
    words = DOUBT_WORDS[kind]

    def meanings() -> list[tuple[str, str]]:
        found = _asked_of(doubts_of(kind, _TYPED[kind](row.figures), limits))
        taken = (one for doubt in found for one in doubt.meanings if may_be_taken(one.changes))
        pairs = ((as_text(row.number, one.changes), _words_of(one, words, today)) for one in taken)
        return list(dict.fromkeys(pairs))

    why = {doubt.reason: filled(words[doubt.reason], doubt.figures, today) for doubt in doubts}
    return Asked(why, all(doubt.may_be_right for doubt in doubts), meanings)


def _words_of(meaning: Meaning, words: Mapping[str, str], today: date) -> str:
    values = {change.field: change.value for change in meaning.changes}
    if meaning.name:
        return filled(words[f"={meaning.name}"], values, today)
    return ", ".join(filled(words[f"={name}"], values, today) for name in values)
