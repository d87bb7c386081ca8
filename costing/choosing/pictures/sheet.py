"""The decision sheet: two sides of paper with what a report says, and why, whatever the offers."""

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from typing import Any, NamedTuple

from config.showing import whole
from costing.choosing.core.case import Offer as Terms
from costing.choosing.core.chances import DRAWS
from costing.choosing.core.figures import Figures
from costing.choosing.pictures import cautions, charts, sentences, what_if, wording
from costing.choosing.pictures.answer import answer, lead_of
from costing.choosing.pictures.facts import Fact, facts_of
from costing.choosing.pictures.kept import kept_facts
from costing.choosing.pictures.odds import ranges_in_words, share_words
from costing.choosing.pictures.sources import Source, running_sources, use_in_words
from costing.choosing.pictures.table import (
    OfferColumn,
    TableCell,
    TableGroup,
    TableRow,
    columns_of,
    groups_of,
    money_rows,
)
from costing.choosing.report import OffersReport
from costing.choosing.services.comparisons import letters_of
from costing.choosing.services.stored import offers_of, sources_of
from costing.models import Comparison, Offer

#: What is left out where two sides do not hold all, the first of these first. What must be said is not among them.
SPARE = (
    "to_ask",
    "money_rows",
    "ways",
    "besides",
    "measures",
    "ranges",
    "changes",
    "events",
    "illness",
    "origins",
    "own",
)
#: From so many offers on, everything is set smaller.
_MANY = 5
#: Millimetres that two sides hold.
_TWO_SIDES = 526
_DRAWINGS, _TAGS = re.compile(r"<svg.*?</svg>", re.DOTALL), re.compile(r"<[^>]*>|\s+(?=\s)")
_FIRST_SENTENCES, _MOST_CHANGES = 4, 4
_MONTHS_TO_LEAVE_IN = (6, 12, 24)
#: What is said of an offer even where there is little room.
_MUST_BE_SAID = ("Terms", "Not told")
_USED_CAR = (
    "{}: before you buy a used car, have it inspected, ask a fitter whether dual controls go in, look up its safety "
    "recalls, and ask about outstanding finance."
)


class OfferNote(NamedTuple):
    """One offer in words: what it is, what is told and not told of it, and its own running costs."""

    letter: str
    name: str
    kind: str
    facts: list[str]
    own: list[Source]
    measures: list[str]


def sheet_of(comparison: Comparison, report: OffersReport) -> dict[str, Any]:
    """The context of the sheet's template."""
    letters = letters_of(comparison)
    columns = columns_of(report.figures, letters)
    found = answer(report.figures, report.verdicts, letters, report.case.use)
    chances = what_if.paths(report)
    return {
        "comparison": comparison,
        "use": report.case.use,
        "use_words": use_in_words(report.case.use),
        "is_many": len(columns) >= _MANY,
        "drawn_as": "dense" if len(columns) >= _MANY else "strip" if len(columns) > 1 else "paper",
        "sentence": found.sentence,
        "beside": found.beside[:_FIRST_SENTENCES],
        "besides": found.beside[_FIRST_SENTENCES:],
        "expected_words": what_if.expected_words(what_if.averages(chances), letters) if chances and columns[1:] else "",
        "columns": columns,
        "leaving": charts.leaving_picture(report, columns, letters),
        "money": charts.money_chart(columns),
        "money_rows": TableGroup("Where the money goes, part by part", money_rows(columns)),
        **_tables(report, columns, chances),
        **_notes(comparison, report, letters),
        "changes": list(_changes(report, letters)),
        "cautions": _cautions(comparison, report, letters),
    }


def seems_long(html: str) -> bool:
    """Whether a sheet will hardly go on two sides, by how many rows and letters it has: right for most sheets.

    The weights were fitted to the sheets of one to eight offers, which they tell to some 15 mm.
    """
    words = len(_TAGS.sub("", _DRAWINGS.sub("", html[html.index("<body") :])))
    rows, offers = html.count("<tr"), html.count("<col>") - 1
    height = 169 + 3.3 * rows + 0.033 * words + 8.75 * offers if offers >= _MANY else 223 + 4.9 * rows + 0.0385 * words
    return height > _TWO_SIDES


def _tables(report: OffersReport, columns: Sequence[OfferColumn], chances: Sequence[what_if.Path]) -> dict[str, Any]:
    """The table by letters, with the rows of what could go wrong, and the ways out in one month."""
    use = report.case.use
    months = sorted({what_if.usual_month(use), *(one for one in _MONTHS_TO_LEAVE_IN if one < use.months)})
    leaving = [what_if.leaving_row(one, _in_month(report, one, columns)) for one in months]
    expected = what_if.expected_rows(columns, chances) if chances else []
    ill = what_if.illness_of(report, what_if.usual_weeks(use))
    illness = what_if.illness_rows(use, columns, ill)
    *groups, wrong = groups_of(report, columns, [*leaving, *_by_chance(expected), illness[0]])
    then = _in_month(report, months[0], columns)
    return {
        "groups": groups,
        "wrong": wrong._replace(rows=wrong.rows[:-1]),
        "illness": illness[1:-1],
        "takings_lost": illness[-1],
        "events": what_if.event_rows(report, columns),
        "not_told": wrong.rows[-1],
        "to_ask": TableGroup("Ask, and write it here", list(_to_ask(columns))),
        "ways": TableGroup(f"The ways out in month {months[0]}", what_if.ways_out_rows(then)),
        "ways_reasons": what_if.reasons(columns, then),
    }


def _to_ask(columns: Sequence[OfferColumn]) -> Iterator[TableRow]:
    """Each part that isn't told of an offer, with room to write it in by hand."""
    for part in dict.fromkeys(part for column in columns for part in column.figures.not_told):
        cells = ["£" if part in column.figures.not_told else "–" for column in columns]
        yield TableRow(wording.asked(part), [TableCell(words) for words in cells])


def _by_chance(rows: Sequence[TableRow]) -> Iterator[TableRow]:
    for row in rows:
        yield row._replace(label=f"{row.label}, by the chances of leaving")


def _in_month(report: OffersReport, month: int, columns: Sequence[OfferColumn]) -> list[Figures]:
    return what_if.of_columns(report.leaving()[month - 1], columns)


def _notes(comparison: Comparison, report: OffersReport, letters: Mapping[str, str]) -> dict[str, Any]:
    """What each offer and its running costs are, in words; and what all offers share."""
    nation = report.case.use.nation
    rows = {offer.name: offer for offer in offers_of(comparison)}
    notes = [_note(rows[one.offer.name], one, report) for one in report.figures]
    return {
        "notes": notes,
        "measures": any(note.measures for note in notes),
        "origins": True,
        "own": any(note.own for note in notes),
        "assumed": list(_assumed(report, letters)),
        "ranges": list(ranges_in_words(report.case, letters)),
        "running_costs": running_sources(report.case.running, sources_of(comparison), nation),
    }


def _note(row: Offer, one: Figures, report: OffersReport) -> OfferNote:
    said = [fact for fact in facts_of(report, one) if fact.label != "We assume"]
    must = [*kept_facts(row), *(fact for fact in said if fact.label in _MUST_BE_SAID)]
    rest = [_said(fact) for fact in said if fact.label not in _MUST_BE_SAID]
    own = running_sources(one.offer.running, sources_of(row), report.case.use.nation)
    return OfferNote(row.letter, row.name, row.get_kind_display(), [_said(fact) for fact in must], own, rest)


def _assumed(report: OffersReport, letters: Mapping[str, str]) -> Iterator[str]:
    """What figures take for granted, each once with the offers it is assumed of."""
    assumed = report.assumed
    for key in dict.fromkeys(key for keys in assumed.values() for key in keys):
        which = [letters[name] for name, keys in assumed.items() if key in keys]
        yield f"{wording.listed(which)}: {wording.assumed(key)}."


def _said(fact: Fact) -> str:
    """A fact as a sentence, and its note as another, or in brackets if it is none."""
    if fact.note and not fact.note.endswith("."):
        return f"{fact.label}: {fact.words} ({fact.note})."
    return f"{fact.label}: {fact.words.removesuffix('.')}. {fact.note}".rstrip()


def _changes(report: OffersReport, letters: Mapping[str, str]) -> Iterator[str]:
    """From which values of a figure on another offer is cheaper than the one held up, and how often each is."""
    lead = lead_of(report.figures, report.verdicts)
    others = [one.offer.name for one in report.figures if lead and one.offer.name != lead.name]
    # To work a pair out takes long, and the first that changes is enough.
    pairs = (pair for other in others if lead for pair in _pairs(report, lead.name, other, letters))
    for pair in islice((pair for pair in pairs if pair.changes), 1):
        same = f"If {pair.if_same.removeprefix('if ')}: " if pair.if_same else ""
        yield from (f"{same}{words}" for words in pair.changes[:_MOST_CHANGES])
    if report.odds and len(report.odds) > 1:
        shares = wording.listed([f"{letters[one.name]} in {share_words(one)}" for one in report.odds])
        yield f"In {whole(DRAWS)} draws from the ranges and chances told, the cheapest is {shares}."


def _pairs(report: OffersReport, name: str, other: str, letters: Mapping[str, str]) -> Sequence[sentences.OfferPair]:
    """What would make another offer the cheaper one of two; nothing if that is the one of the name already."""
    switches = [one for one in report.switching_between(name, other) if one.cheaper == name]
    return sentences.pairs(switches, report.verdicts, letters)


def _cautions(comparison: Comparison, report: OffersReport, letters: Mapping[str, str]) -> cautions.Cautions:
    """Those of the page, and what to do before one buys a used car."""
    found = cautions.cautions(report.case, report.leaving(), letters)
    compared = {one.offer.name: one.offer for one in report.figures}
    used = [
        row.letter
        for row in offers_of(comparison)
        if row.is_bought and row.name in compared and _is_used(compared[row.name], report)
    ]
    if used:
        found.sentences.insert(1, _USED_CAR.format(wording.listed(used)))
    return found


def _is_used(offer: Terms, report: OffersReport) -> bool:
    """Whether a car was on the road before; of one without a day it isn't known, so it may have been."""
    return offer.first_registered is None or offer.first_registered < report.case.use.starts_on
