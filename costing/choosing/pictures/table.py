"""The tables of offers: each offer is a column under its letter, and each figure a row of words."""

from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from typing import NamedTuple

from config.look.tokens import OFFERS
from config.showing import pence_as_pounds, whole
from costing.choosing.core.case import Offer, Scenario
from costing.choosing.core.figures import Figures, ScenarioResult
from costing.choosing.core.payments import payments_a_year
from costing.choosing.core.ways_out import excess
from costing.choosing.pictures import wording
from costing.choosing.report import OffersReport
from costing.core.money import divide_half_up, to_places

_NOT_KNOWN, _NO_LIMIT = "Not known", "No limit"


class TableCell(NamedTuple):
    """One figure in words, and a note on it. The best one is marked by its shape too, not by colour alone."""

    words: str
    note: str = ""
    is_best: bool = False


class TableRow(NamedTuple):
    """One measure of every offer."""

    label: str
    cells: list[TableCell]


class TableGroup(NamedTuple):
    """Rows under one head."""

    head: str
    rows: list[TableRow]


class OfferColumn(NamedTuple):
    """One offer among the others. Its ``letter`` stands for it in tables, charts and on paper, whoever is cheapest."""

    letter: str
    figures: Figures
    kind: str

    @property
    def name(self) -> str:
        return self.figures.offer.name


_Measure = Callable[[Figures], TableCell]


def columns_of(report: OffersReport, letters: Mapping[str, str] | None = None) -> list[OfferColumn]:
    """The offers in the order of their document, with ``letters`` by name; without any, they are lettered in order."""
    figures = report.base.figures
    known = letters or {one.offer.name: look.letter for one, look in zip(figures, OFFERS, strict=False)}
    return [OfferColumn(known[one.offer.name], one, one.offer.way.words) for one in figures]


def groups_of(report: OffersReport, columns: list[OfferColumn]) -> list[TableGroup]:
    """The measures that are figures, in groups; those that need a discount or tax rate are left out without one."""
    return [
        TableGroup("What it costs", _rows(_costs(report), columns)),
        TableGroup("What goes in first", _rows(_goes_in(report), columns)),
        TableGroup("How far it goes", miles_rows(report, columns)),
    ]


def miles_rows(report: OffersReport, columns: list[OfferColumn]) -> list[TableRow]:
    """The miles that each offer allows, and those beyond."""
    return _rows(_goes(report), columns)


def worded_rows(columns: list[OfferColumn]) -> list[TableRow]:
    """The measures that are words, too long for a narrow column."""
    return _rows(_in_words(), columns)


def money_rows(columns: list[OfferColumn]) -> list[TableRow]:
    """Where the money goes, part by part, with the total."""
    parts = [code for code in wording.PARTS if any(code in column.figures.flow.parts for column in columns)]
    rows = [
        TableRow(
            wording.PARTS[code],
            [TableCell(pence_as_pounds(column.figures.flow.parts.get(code, 0))) for column in columns],
        )
        for code in parts
    ]
    return [*rows, TableRow("Total", [TableCell(pence_as_pounds(column.figures.total)) for column in columns])]


def running_total_rows(report: OffersReport, columns: list[OfferColumn]) -> list[TableRow]:
    """What each offer has cost by the start, by every half-year and by the end."""
    use = report.case.use
    return [
        TableRow(
            wording.month(use, k),
            [TableCell(pence_as_pounds(sum(column.figures.flow.months[: k + 1]))) for column in columns],
        )
        for k in sorted({*range(0, use.months, 6), use.months})
    ]


def what_if_rows(
    results: list[ScenarioResult], columns: list[OfferColumn], note: Callable[[Figures, Figures], str] | None = None
) -> list[TableRow]:
    """What each event makes of the totals. ``note`` gets an offer as planned and then."""
    rows = []
    for result in results:
        by_name = {one.offer.name: one for one in result.figures}
        least = min(one.total for one in result.figures)
        pairs = [(column.figures, by_name[column.name]) for column in columns]
        cells = [
            TableCell(pence_as_pounds(then.total), note(planned, then) if note else "", then.total == least)
            for planned, then in pairs
        ]
        rows.append(TableRow(result.name, cells))
    return rows


def _rows(measures: Iterator[tuple[str, _Measure]], columns: list[OfferColumn]) -> list[TableRow]:
    return [TableRow(label, [cell(column.figures) for column in columns]) for label, cell in measures]


def _costs(report: OffersReport) -> Iterator[tuple[str, _Measure]]:
    use, least = report.case.use, report.cheapest.total
    yield (
        f"Total for {use.months} months",
        lambda one: TableCell(pence_as_pounds(one.total), _above(one, least), one.total == least),
    )
    yield "A week", lambda one: TableCell(pence_as_pounds(one.per_week))
    yield "A mile", lambda one: TableCell(_or_not_known(one.per_mile))
    yield "A lesson hour", lambda one: TableCell(_or_not_known(one.per_lesson_hour))
    yield "Lesson hours a week to pay for it", _hours
    if use.discount_rate:
        rate = f"{to_places(use.discount_rate * 100, 1)} %"
        yield f"In today’s money, at {rate} a year", lambda one: TableCell(pence_as_pounds(one.present_value))
    if use.marginal_tax_rate:
        yield "After tax", lambda one: TableCell(pence_as_pounds(one.after_tax))


def _goes_in(report: OffersReport) -> Iterator[tuple[str, _Measure]]:
    use = report.case.use
    yield "Up front", lambda one: TableCell(pence_as_pounds(one.up_front))
    yield (
        "Dearest month",
        lambda one: TableCell(pence_as_pounds(one.dearest.pence), wording.month(use, one.dearest.month)),
    )


def _goes(report: OffersReport) -> Iterator[tuple[str, _Measure]]:
    yield "Miles allowed a year", lambda one: TableCell(_allowance(one.offer))
    yield "Extra miles", lambda one: _excess(one, report.case.scenario)


def _in_words() -> Iterator[tuple[str, _Measure]]:
    yield "Terms", lambda one: TableCell(wording.terms(one.offer))
    yield "Included", lambda one: TableCell(wording.parts_of(one.offer, included=True))
    yield "Not included", lambda one: TableCell(wording.parts_of(one.offer, included=False))
    yield "APR worked out", lambda one: TableCell(*wording.apr(one))


def _above(one: Figures, least: int) -> str:
    return "cheapest" if one.total == least else f"{pence_as_pounds(one.total - least)} more"


def _hours(one: Figures) -> TableCell:
    if one.hours_a_week is None:
        return TableCell(_NOT_KNOWN, "a lesson hour has no price yet")
    return TableCell(f"{one.hours_a_week} h")


def _or_not_known(pence: int | None) -> str:
    return _NOT_KNOWN if pence is None else pence_as_pounds(pence)


def _allowance(offer: Offer) -> str:
    return _NO_LIMIT if offer.mileage_allowance is None else whole(int(offer.mileage_allowance))


def _excess(one: Figures, scenario: Scenario) -> TableCell:
    """The miles above the allowance, over the time for which it counts, and what they cost."""
    offer = one.offer
    if offer.mileage_allowance is None:
        return TableCell("None")
    term = Fraction(offer.payments, payments_a_year(offer))
    years = scenario.years if offer.is_hire else min(scenario.years, term)
    over = scenario.miles - offer.mileage_allowance * years
    if over <= 0:
        return TableCell("None")
    cost = pence_as_pounds(divide_half_up(excess(offer, scenario, years), 1))
    if offer.is_hire or offer.at_end == "hand_back":
        return TableCell(whole(int(over)), f"{cost} to pay at the end")
    return TableCell(whole(int(over)), f"{cost} only if you hand it back, which isn’t the plan")
