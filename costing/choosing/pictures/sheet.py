"""The decision sheet: as much of a report as fits on two sides of paper, whatever the offers.

It names each offer once, and calls it by its letter after that.
"""

from fractions import Fraction
from typing import Any, NamedTuple

from costing.choosing.core.case import Case
from costing.choosing.core.odds import DRAWS, odds
from costing.choosing.core.switching import Switch
from costing.choosing.document.reading import Document
from costing.choosing.pictures import charts, half_rule, sentences, sources, table, wording
from costing.choosing.pictures.odds_table import share_words
from costing.choosing.pictures.table import OfferColumn, TableRow
from costing.choosing.report import OffersReport, report_of, with_ranges
from costing.choosing.services.finding import letters_of
from costing.models import Comparison

_MOST_OFFERS, _MOST_EVENTS, _MOST_CHANGES = 6, 10, 6


class SheetOffer(NamedTuple):
    """One offer under its letter, with its name, its total, what that is above the cheapest, and its terms."""

    letter: str
    name: str
    total: str
    place: str
    words: list[str]


def sheet_of(comparison: Comparison, document: Document) -> dict[str, Any]:
    """The context of the sheet's template. If there are too many offers, the dearest are left out."""
    letters = letters_of(comparison)
    named = table.columns_of(OffersReport.of(document), letters)
    lettered = _by_letter(document.case, letters)
    cheapest, *others = sorted(named, key=lambda one: one.figures.total)
    shown = [one for one in named if one in (cheapest, *others[: _MOST_OFFERS - 1])]
    case = _with_offers(lettered, {column.letter for column in shown})
    report = report_of(Document(case, document.assumed))
    columns = table.columns_of(report, {letter: letter for letter in letters.values()})
    # What takes less room in a sentence about each offer than in a narrow column.
    in_words = [*table.worded_rows(columns), *table.miles_rows(report, columns)]
    costs, goes_in, _ = table.groups_of(report, columns)
    # The total stands beside the offer's name.
    totals, *measures = costs.rows
    offers = [
        SheetOffer(one.letter, one.name, total.words, total.note, _words(one, in_words, at))
        for at, (one, total) in enumerate(zip(shown, totals.cells, strict=True))
    ]
    return {
        "comparison": comparison,
        "use": case.use,
        "use_words": sources.use_in_words(case.use),
        "best": cheapest,
        "offers": offers,
        "left_out": len(named) - len(shown),
        "columns": columns,
        "totals": charts.running_chart(columns) if len(columns) > 1 else None,
        "money": charts.money_chart(columns),
        "rows": [*measures, *goes_in.rows],
        "running": sources.running_sources(comparison, case),
        "assumed": [wording.assumed(lettered, key) for key in document.assumed],
        "what_if_rows": table.what_if_rows(report.what_ifs[:_MOST_EVENTS], columns),
        "odds": _odds_in_words(case, columns),
        "draws": DRAWS,
        "is_assumed": not case.uncertain,
        "changes": [sentences.wins(one) for one in _nearest(case)],
        "half_rules": half_rule.half_rules(case),
    }


def _by_letter(case: Case, letters: dict[str, str]) -> Case:
    """The case with each offer called by its letter."""
    return case._replace(
        offers=tuple(offer._replace(name=letters[offer.name]) for offer in case.offers),
        uncertain=tuple(one._replace(offer=letters.get(one.offer, "")) for one in case.uncertain),
    )


def _with_offers(case: Case, letters: set[str]) -> Case:
    """The case with only these offers."""
    return case._replace(
        offers=tuple(offer for offer in case.offers if offer.name in letters),
        uncertain=tuple(one for one in case.uncertain if one.offer in {"", *letters}),
    )


def _words(column: OfferColumn, rows: list[TableRow], at: int) -> list[str]:
    cells = [(row.label, row.cells[at]) for row in rows]
    return [column.kind, *(f"{label}: {'; '.join(filter(None, (cell.words, cell.note)))}" for label, cell in cells)]


def _nearest(case: Case) -> list[Switch]:
    """The smallest changes to the plan that would make another offer the cheapest."""
    report = OffersReport(case)
    cheapest = report.cheapest.offer.name
    found = [one for one in report.switching if one.cheaper == cheapest and one.value is not None]
    return sorted(found, key=_distance)[:_MOST_CHANGES]


def _distance(switch: Switch) -> Fraction:
    """The change as a share of the planned figure, or of the range if the plan has nothing."""
    return abs((switch.value or Fraction(0)) - switch.base) / (switch.base or switch.high)


def _odds_in_words(case: Case, columns: list[OfferColumn]) -> str:
    """How often each offer is the cheapest of the draws."""
    shares = {one.name: share_words(one) for one in odds(with_ranges(case))}
    return ", ".join(f"{column.letter} {shares[column.name]}" for column in columns)
