"""The tables of offers: each offer is a narrow column under its letter, and each measure a row.

A sum that isn't wholly told stands with "from" or "up to". The best of a row is marked only if it is the best whatever
is not told.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import accumulate
from math import ceil, floor
from typing import NamedTuple

from config.look.tokens import OFFERS
from costing.choosing.core.case import Case, Use
from costing.choosing.core.figures import Figures
from costing.choosing.core.verdicts import PairVerdict
from costing.choosing.pictures import wording
from costing.choosing.pictures.answer import Lead, lead_of, other_of
from costing.choosing.report import OffersReport
from costing.core.money import to_places

_NOT_TOLD = "not told"
#: The ways out after which one has the car, or what it was sold for.
_OWN_WAYS = ("sell", "keep", "settle")


class TableCell(NamedTuple):
    """One figure in words, and a note below it; ``best`` says in a word why it stands out, "" if it doesn't."""

    words: str
    note: str = ""
    best: str = ""
    is_large: bool = False


class TableRow(NamedTuple):
    """One measure of every offer, and a note on what it measures."""

    label: str
    cells: list[TableCell]
    note: str = ""


class TableGroup(NamedTuple):
    """Rows under one head."""

    head: str
    rows: list[TableRow]


class OfferColumn(NamedTuple):
    """One offer among the others. Its ``letter`` stands for it in tables, charts and on paper, whoever is cheapest."""

    letter: str
    figures: Figures

    @property
    def name(self) -> str:
        return self.figures.offer.name


class Bounds(NamedTuple):
    """A sum whatever the untold parts come to; None is no bound."""

    low: Fraction | int | None
    high: Fraction | int | None

    @property
    def is_told(self) -> bool:
        return self.low is not None and self.low == self.high


class Measure(NamedTuple):
    """How sums of one kind are shown: in words, in steps. A bound is rounded to the step on which it stays true."""

    words: Callable[[Fraction | int], str]
    step: Fraction

    def at_least(self, value: Fraction | int) -> str:
        """A lower bound, never above the value."""
        return f"from {self.words(floor(value / self.step) * self.step)}"

    def at_most(self, value: Fraction | int) -> str:
        """An upper bound, never below the value."""
        return f"up to {self.words(ceil(value / self.step) * self.step)}"


POUNDS = Measure(wording.figure, Fraction(100))
_PENCE = Measure(lambda pounds: f"{to_places(Fraction(pounds), 2):,}", Fraction(1, 100))
_MINUTES = Measure(lambda many: f"{to_places(Fraction(many), 0):,}", Fraction(1))


def columns_of(figures: Sequence[Figures], letters: Mapping[str, str] | None = None) -> list[OfferColumn]:
    """The offers in the order of their document, with ``letters`` by name; without any, they are lettered in order."""
    known = letters or {one.offer.name: look.letter for one, look in zip(figures, OFFERS, strict=False)}
    return [OfferColumn(known[one.offer.name], one) for one in figures]


def groups_of(report: OffersReport, columns: Sequence[OfferColumn], wrong: Sequence[TableRow] = ()) -> list[TableGroup]:
    """The table by which offers are compared by eye; ``wrong`` are the rows of what could go wrong.

    Totals are held against the cheapest of all offers, which need not be among the ``columns``.
    """
    use, figures = report.case.use, [column.figures for column in columns]
    return [
        TableGroup("What it costs", [_totals(report, figures), *_by_hour(use, figures)]),
        TableGroup("What goes in first", list(_goes_in(use, figures))),
        TableGroup("What it leaves you with", [_worth(report.case, figures)]),
        TableGroup("What could go wrong", [*wrong, _not_told(figures)]),
    ]


def measured(
    label: str, values: Sequence[Bounds], measure: Measure, notes: Sequence[str] = (), *, best: str = "the lowest"
) -> TableRow:
    """A row of sums, of which the lowest is the best, with what the others are above it."""
    lowest = _lowest(values)
    cells = []
    for index, value in enumerate(values):
        more = ""
        if lowest is not None and lowest != index and value.is_told and values[lowest].is_told:
            more = _more(measure, (value.low or 0) - (values[lowest].low or 0))
        words = [more, *notes[index : index + 1]]
        cells.append(
            TableCell(_bounded(value, measure), " ".join(filter(None, words)), best if lowest == index else "")
        )
    return TableRow(label, cells)


def _more(measure: Measure, difference: Fraction | int) -> str:
    """How much more; empty where it is too little to be shown."""
    words = measure.words(difference)
    return "" if words == measure.words(0) else f"{words} more"


def _lowest(values: Sequence[Bounds]) -> int | None:
    """Which of several sums is below all others whatever is not told."""
    for index, value in enumerate(values):
        others = [one.low for at, one in enumerate(values) if at != index]
        if others and value.high is not None and all(low is not None and value.high < low for low in others):
            return index
    return None


def _bounded(value: Bounds, measure: Measure) -> str:
    if value.low is None:
        return _NOT_TOLD if value.high is None else measure.at_most(value.high)
    return measure.words(value.low) if value.is_told else measure.at_least(value.low)


def bounds_of(one: Figures) -> Bounds:
    """The total of one offer, whatever isn't told."""
    return Bounds(one.at_least, one.at_most)


def _totals(report: OffersReport, figures: Sequence[Figures]) -> TableRow:
    lead = lead_of(report.figures, report.verdicts)
    by_pair = {frozenset((one.a, one.b)): one for one in report.verdicts}
    told = {one.offer.name: one.told for one in report.figures}
    cells = []
    for one in figures:
        is_leader = lead is not None and lead.name == one.offer.name
        note = _and_untold(one)
        if lead and not is_leader and not note:
            note = _beside(lead, by_pair[frozenset((lead.name, one.offer.name))], told)
        best = "the cheapest" if is_leader and lead and not lead.conditions and not lead.if_same else ""
        cells.append(TableCell(wording.figure(one.told), note, best, is_large=True))
    return TableRow(f"{figures[0].months} months", cells)


def _and_untold(one: Figures) -> str:
    """What a total leaves out. Of a car that goes back unless it fetches more, its value is in no total."""
    costs = [part for part in one.not_told if part != "value"]
    words = [f"and {wording.short(costs[0])}" if len(costs) == 1 else f"and {len(costs)} more"] if costs else []
    value = "less its value" if one.way_out in _OWN_WAYS else "or less, if sold"
    return ", ".join([*words, *([value] if len(costs) < len(one.not_told) else [])])


def _beside(lead: Lead, verdict: PairVerdict, told: Mapping[str, int]) -> str:
    """How far another offer lies above the one that leads, or how much room that leaves it."""
    if verdict.room is not None:
        return "" if verdict.is_fetch else f"room {wording.figure(verdict.room)}"
    more = told[other_of(verdict, lead.name)] - told[lead.name]
    return f"{wording.figure(more)} more" if not verdict.of and more else ""


def _by_hour(use: Use, figures: Sequence[Figures]) -> Iterator[TableRow]:
    hours = [use.lesson_hours_per_week * use.weeks_taught_per_year * one.months / 12 for one in figures]
    if not all(hours):
        return
    an_hour = [_over(bounds_of(one), many * 100) for one, many in zip(figures, hours, strict=True)]
    yield measured("A lesson hour", an_hour, _PENCE)
    if use.lesson_hour_price:
        minutes = [_over(one, Fraction(use.lesson_hour_price, 6000)) for one in an_hour]
        yield measured("Minutes of each hour", minutes, _MINUTES)


def _over(value: Bounds, by: Fraction) -> Bounds:
    low, high = (None if one is None else one / by for one in value)
    return Bounds(low, high)


def _goes_in(use: Use, figures: Sequence[Figures]) -> Iterator[TableRow]:
    first = [
        Bounds(one.flow.months[0], None) if one.up_front is None else Bounds(one.up_front, one.up_front)
        for one in figures
    ]
    yield measured("Before lesson one", first, POUNDS)
    if has_purse(use):
        yield purses(use, figures)


def has_purse(use: Use) -> bool:
    """Whether it is told what there is to pay with."""
    return use.cash_in_hand is not None and use.put_by_per_month is not None


def purses(use: Use, figures: Sequence[Figures], note: str = "") -> TableRow:
    """How low the purse falls with each offer, and in which month."""
    known = [one.lowest_purse.pence for one in figures if one.lowest_purse]
    best = max(known) if len(known) == len(figures) > 1 else None
    cells = [_purse(use, one) for one in figures]
    for index, one in enumerate(figures):
        if one.lowest_purse and one.lowest_purse.pence == best:
            cells[index] = cells[index]._replace(best="the most")
    return TableRow("Purse lowest", cells, note)


def _purse(use: Use, one: Figures) -> TableCell:
    """The purse of one offer; of one that isn't wholly told, as far as its untold parts let that be said."""
    if one.lowest_purse:
        return TableCell(wording.figure(one.lowest_purse.pence), wording.when(one.lowest_purse.month))
    left = _left_of_purse(use, one)
    lowest = min(left)
    if "value" not in one.not_told:
        return TableCell(POUNDS.at_most(lowest), wording.when(left.index(lowest)))
    if one.not_told == ("value",):
        return TableCell(POUNDS.at_least(lowest))
    return TableCell(_NOT_TOLD)


def falls_below_nothing(use: Use, one: Figures, kept_price: int) -> bool:
    """Whether the purse is sure to fall below nothing with an offer, whatever its untold parts come to.

    ``kept_price``: pence of a car that one has, which is not paid if it is kept, and comes in if it is sold.
    """
    return has_purse(use) and "value" not in one.not_told and min(_left_of_purse(use, one)) + kept_price < 0


def _left_of_purse(use: Use, one: Figures) -> list[int]:
    """What is left of the purse in each month of what is told, in pence."""
    spent = accumulate(one.flow.months)
    return [(use.cash_in_hand or 0) + (use.put_by_per_month or 0) * month - sum_ for month, sum_ in enumerate(spent)]


def _worth(case: Case, figures: Sequence[Figures]) -> TableRow:
    ranges = {one.offer: one.spreads[0] for one in case.uncertain if one.input == "value_at_horizon"}
    cells = []
    for one in figures:
        if "value" in one.not_told:
            cells.append(TableCell(_NOT_TOLD))
        elif one.way_out not in _OWN_WAYS:
            cells.append(TableCell("none"))
        else:
            spread = ranges.get(one.offer.name)
            between = f"{wording.figure(spread.low)} to {wording.figure(spread.high)}" if spread else ""
            owed = one.flow.parts.get("settlement", 0)
            note = f"{wording.figure(owed)} owed" if owed else ""
            cells.append(
                TableCell(wording.figure(one.offer.value_at_horizon or 0), " ".join(filter(None, (between, note))))
            )
    return TableRow("A car worth", cells)


def _not_told(figures: Sequence[Figures]) -> TableRow:
    cells = []
    for one in figures:
        parts = [wording.short(part) for part in one.not_told]
        cells.append(TableCell(", ".join(parts) if 0 < len(parts) < 3 else f"{len(parts)} parts" if parts else "none"))
    return TableRow("Not told", cells)


def money_rows(columns: Sequence[OfferColumn]) -> list[TableRow]:
    """Where the money goes, part by part, with what is told of the total."""
    parts = [code for code in wording.PARTS if any(code in column.figures.flow.parts for column in columns)]
    rows = [
        TableRow(wording.PARTS[code], [TableCell(_part(column.figures, code)) for column in columns]) for code in parts
    ]
    totals = [TableCell(wording.figure(column.figures.told), _and_untold(column.figures)) for column in columns]
    return [*rows, TableRow("Together", totals)]


def _part(one: Figures, code: str) -> str:
    return _NOT_TOLD if code in one.not_told else wording.figure(one.flow.parts.get(code, 0))
