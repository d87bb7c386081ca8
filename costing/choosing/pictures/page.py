"""The page on which offers are compared, made of its parts: which offers stand in the table, and all that is said."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from costing.choosing.core.case import Use, WeeksOff
from costing.choosing.core.figures import Figures
from costing.choosing.pictures import charts, what_if, wording
from costing.choosing.pictures.answer import answer
from costing.choosing.pictures.cautions import cautions, has_half_rule
from costing.choosing.pictures.sources import use_in_words
from costing.choosing.pictures.table import (
    OfferColumn,
    TableGroup,
    columns_of,
    falls_below_nothing,
    groups_of,
    has_purse,
    money_rows,
)
from costing.choosing.report import OffersReport

#: So many columns fit the narrowest phone; of more offers so many are shown until somebody chooses.
MOST_COLUMNS, _USUAL_COLUMNS = 4, 3


class Asked(NamedTuple):
    """What a reader asks the page for: a month to leave in, weeks without lessons, and which offers to show how."""

    month: int
    off: WeeksOff
    letters: tuple[str, ...] = ()
    licence_ends: int | None = None
    is_by_purse: bool = False
    is_affordable: bool = False
    kept_price: int = 0  # of the car one has: it isn't paid, and comes in if the car is sold


class Shown(NamedTuple):
    """The offers that stand in the table, and the letters of those that are too dear for the purse."""

    columns: list[OfferColumn]
    too_dear: tuple[str, ...]

    @property
    def letters(self) -> list[str]:
        return [column.letter for column in self.columns]

    @property
    def left_out(self) -> str:
        """The letters of those that are too dear, in one list."""
        return _listed(self.too_dear)


def shown(use: Use, every: Sequence[OfferColumn], asked: Asked) -> Shown:
    """Which of the offers stand in the table, and in which order."""
    kept = asked.kept_price
    columns = [one for one in every if not (asked.is_affordable and falls_below_nothing(use, one.figures, kept))]
    too_dear = tuple(one.letter for one in every if one not in columns)
    if asked.is_by_purse:
        columns.sort(key=lambda one: one.figures.lowest_purse.pence if one.figures.lowest_purse else -(10**12))
        columns.reverse()
    chosen = [one for one in columns if one.letter in asked.letters][:MOST_COLUMNS]
    if not chosen and len(columns) > MOST_COLUMNS:
        least = sorted(columns, key=lambda one: one.figures.told)[:_USUAL_COLUMNS]
        chosen = [one for one in columns if one in least]
    return Shown(chosen or columns, too_dear)


def _listed(letters: Sequence[str]) -> str:
    return wording.listed(letters) if letters else ""


def page_of(report: OffersReport, letters: Mapping[str, str], asked: Asked, *, with_chances: bool) -> dict[str, Any]:
    """What the template of the page shows. ``letters`` by name; ``with_chances`` for whoever wants those of leaving."""
    every = columns_of(report.figures, letters)
    table = shown(report.case.use, every, asked)
    # Of offers that are all too dear, the answer still speaks.
    columns = table.columns
    ways = what_if.paths(report, asked.licence_ends)
    found = answer(report.figures, report.verdicts, letters, report.case.use)
    leader = letters.get(found.leader, "")
    return {
        "report": report,
        "use": report.case.use,
        "answer": found,
        "too_dear_leader": leader if leader in table.too_dear and columns else "",
        "expected_words": what_if.expected_words(what_if.averages(ways), letters) if ways and len(every) > 1 else "",
        "shown": table,
        "columns": columns,
        "letters": [column.letter for column in every],
        "has_purse": has_purse(report.case.use),
        **(_tables(report, columns, asked, letters) if columns else {}),
        **(_chances(columns, ways) if with_chances and columns else {}),
        "cautions": cautions(report.case, report.leaving(), letters),
        "use_words": use_in_words(report.case.use),
    }


def _tables(
    report: OffersReport, columns: Sequence[OfferColumn], asked: Asked, letters: Mapping[str, str]
) -> dict[str, Any]:
    then = what_if.of_columns(report.leaving()[asked.month - 1], columns)
    ill = what_if.illness_of(report, asked.off)
    wrong = [what_if.leaving_row(asked.month, then), what_if.illness_row(columns, ill)]
    leaving, events = charts.leaving_picture(report, columns, letters), what_if.event_rows(report, columns)
    return {
        "groups": groups_of(report, columns, wrong),
        "leaving": leaving,
        "leaving_groups": [TableGroup("", leaving.rows)],
        "money": charts.money_chart(columns),
        "money_groups": [TableGroup("", money_rows(columns))],
        "ways_groups": [TableGroup("", what_if.ways_out_rows(then))],
        "ways_reasons": what_if.reasons(columns, then),
        "half_rule_letters": _listed([c.letter for c, one in zip(columns, then, strict=True) if has_half_rule(one)]),
        "disputed": any(way.disputed for one in then for way in one.ways_out),
        **_settling(columns, then),
        "ill": ill,
        "ill_groups": [TableGroup("", what_if.illness_rows(report.case.use, columns, ill))],
        "event_groups": [TableGroup("", events)] if events else [],
    }


def _settling(columns: Sequence[OfferColumn], then: Sequence[Figures]) -> dict[str, Any]:
    """The letters of the offers that one may settle: by the law's rule, and by what a contract says."""
    settled = [
        (column.letter, "settlement" in one.assumed)
        for column, one in zip(columns, then, strict=True)
        if any(way.way == "settle" for way in one.ways_out)
    ]
    return {
        "settled_by_rule": _listed([letter for letter, by_contract in settled if not by_contract]),
        "settled_by_contract": _listed([letter for letter, by_contract in settled if by_contract]),
    }


def _chances(columns: Sequence[OfferColumn], ways: Sequence[what_if.Path]) -> dict[str, Any]:
    """The ways that it may go, with what each offer comes to; none where no chances are told."""
    if not ways:
        return {"with_chances": True}
    return {
        "with_chances": True,
        "tree": what_if.chance_tree(ways),
        "expected_groups": [TableGroup("", what_if.expected_rows(columns, ways))],
        "path_groups": [TableGroup("", what_if.path_rows(columns, ways))],
    }
