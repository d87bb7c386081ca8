"""The decision sheet: what of a report fits on two sides of paper, whatever the offers.

Offers are named once and go by their letters after that.
"""

from fractions import Fraction
from typing import Any, NamedTuple

from costing.core.offers.odds import DRAWS, odds
from costing.core.offers.switching import Switch
from costing.core.offers.terms import Case
from costing.models import Comparison
from costing.offers import cautions, sentences, sides, sources, spread, wording
from costing.offers.reading import Document
from costing.offers.report import OffersReport
from costing.offers.usual import report_of, with_ranges

#: Measures that are said of each offer in a sentence, where they need fewer lines than in a narrow column.
_IN_WORDS = ("Terms", "Included", "Not included", "Miles beyond the allowance", "APR worked out")
_MOST_OFFERS, _MOST_EVENTS, _MOST_CHANGES = 6, 10, 6


class Told(NamedTuple):
    """One offer under its letter: what it is called, and what is said of it."""

    letter: str
    name: str
    words: list[str]


def sheet_of(comparison: Comparison, document: Document) -> dict[str, Any]:
    """What the template of the sheet shows; the dearest offers are left out where there are too many."""
    named = sides.sides_of(OffersReport.of(document))
    lettered = _by_letter(document.case, {side.name: side.letter for side in named})
    shown = named[:_MOST_OFFERS]
    case = _with_offers(lettered, {side.letter for side in shown})
    report = report_of(Document(case, document.assumed))
    ranked = sides.sides_of(report)
    rows = sides.rows_of(report, ranked)
    in_words = [row for row in rows if row.label in _IN_WORDS]
    return {
        "comparison": comparison,
        "use": case.use,
        "use_words": sources.use_in_words(case.use),
        "best": shown[0],
        "offers": [Told(side.letter, side.name, _words(side, in_words, at)) for at, side in enumerate(shown)],
        "left_out": len(named) - len(shown),
        "sides": ranked,
        "rows": [row for row in rows if row.label not in _IN_WORDS],
        "running": sources.running_sources(comparison, case),
        "assumed": [wording.assumed(lettered, key) for key in document.assumed],
        "events": sides.event_rows(report.what_ifs[:_MOST_EVENTS], ranked),
        "odds": _odds_in_words(case, ranked),
        "draws": DRAWS,
        "is_assumed": not case.uncertain,
        "changes": [sentences.wins(one) for one in _nearest(case)],
        "half_rules": cautions.half_rules(case),
    }


def _by_letter(case: Case, letters: dict[str, str]) -> Case:
    """The case with each offer called by its letter."""
    return case._replace(
        offers=tuple(offer._replace(name=letters[offer.name]) for offer in case.offers),
        uncertain=tuple(one._replace(offer=letters.get(one.offer, "")) for one in case.uncertain),
    )


def _with_offers(case: Case, letters: set[str]) -> Case:
    """The case with these offers alone."""
    return case._replace(
        offers=tuple(offer for offer in case.offers if offer.name in letters),
        uncertain=tuple(one for one in case.uncertain if one.offer in {"", *letters}),
    )


def _words(side: sides.Side, rows: list[sides.Row], at: int) -> list[str]:
    cells = [(row.label, row.cells[at]) for row in rows]
    return [side.kind, *(f"{label}: {'; '.join(filter(None, (cell.words, cell.note)))}" for label, cell in cells)]


def _nearest(case: Case) -> list[Switch]:
    """What would soonest make another offer cheaper than the cheapest, by how far it is from the plan."""
    told = OffersReport(case)
    cheapest = told.cheapest.offer.name
    found = [one for one in told.switching if one.cheaper == cheapest and one.value is not None]
    return sorted(found, key=_distance)[:_MOST_CHANGES]


def _distance(switch: Switch) -> Fraction:
    """The change as a part of the planned figure; of what is planned as nothing, as a part of the range."""
    return abs((switch.value or Fraction(0)) - switch.base) / (switch.base or switch.high)


def _odds_in_words(case: Case, ranked: list[sides.Side]) -> str:
    """In how many of the draws each is cheapest."""
    shares = {one.name: spread.share(one) for one in odds(with_ranges(case))}
    return ", ".join(f"{side.letter} {shares[side.name]}" for side in ranked)
