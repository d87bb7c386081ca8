"""The table of offers, cheapest first: each offer is a column, and each figure a row of words."""

from collections.abc import Callable, Iterator
from fractions import Fraction
from string import ascii_uppercase
from typing import NamedTuple

from config.showing import pence_as_pounds, whole
from costing.core.money import divide_half_up, to_places
from costing.core.offers.compare import Figures, ScenarioResult
from costing.core.offers.exits import excess
from costing.core.offers.payments import payments_a_year
from costing.core.offers.terms import Scenario
from costing.offers import wording
from costing.offers.report import OffersReport

_NOT_KNOWN = "Not known"


class TableCell(NamedTuple):
    """One figure in words, and a note on it. The best one is marked by its shape too, not by colour alone."""

    words: str
    note: str = ""
    is_best: bool = False


class TableRow(NamedTuple):
    """One measure of every offer."""

    label: str
    cells: list[TableCell]


class OfferColumn(NamedTuple):
    """One offer among the others. Its ``letter`` stands for it in the charts and on paper."""

    letter: str
    place: int
    figures: Figures
    kind: str

    @property
    def name(self) -> str:
        return self.figures.offer.name


_Measure = Callable[[Figures], TableCell]


def columns_of(report: OffersReport) -> list[OfferColumn]:
    """The offers, cheapest first; equals keep their order."""
    ranked = sorted(report.base.figures, key=lambda one: one.total)
    return [
        OfferColumn(letter, 1 + sum(other.total < one.total for other in ranked), one, one.offer.way.words)
        for letter, one in zip(ascii_uppercase, ranked, strict=False)
    ]


def rows_of(report: OffersReport, columns: list[OfferColumn]) -> list[TableRow]:
    """Every measure of the offers; rows that need a discount or tax rate are left out without one."""
    return [TableRow(label, [cell(column.figures) for column in columns]) for label, cell in _measures(report)]


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


def what_if_rows(results: list[ScenarioResult], columns: list[OfferColumn]) -> list[TableRow]:
    """What each event makes of the totals."""
    rows = []
    for result in results:
        totals = {one.offer.name: one.total for one in result.figures}
        least = min(totals.values())
        cells = [
            TableCell(pence_as_pounds(totals[column.name]), is_best=totals[column.name] == least) for column in columns
        ]
        rows.append(TableRow(result.name, cells))
    return rows


def _measures(report: OffersReport) -> Iterator[tuple[str, _Measure]]:
    use, least = report.case.use, report.cheapest.total
    yield "Place", lambda one: _place(one, least)
    yield (
        f"Total for {use.months} months",
        lambda one: TableCell(pence_as_pounds(one.total), is_best=one.total == least),
    )
    yield "A week", lambda one: TableCell(pence_as_pounds(one.per_week))
    yield "A mile", lambda one: TableCell(_or_not_known(one.per_mile))
    yield "A lesson hour", lambda one: TableCell(_or_not_known(one.per_lesson_hour))
    yield "Up front", lambda one: TableCell(pence_as_pounds(one.up_front))
    yield (
        "Dearest month",
        lambda one: TableCell(pence_as_pounds(one.dearest.pence), wording.month(use, one.dearest.month)),
    )
    yield "Lesson hours a week to pay for it", _hours
    yield "Terms", lambda one: TableCell(wording.terms(one.offer))
    yield "Included", lambda one: TableCell(wording.parts_of(one.offer, included=True))
    yield "Not included", lambda one: TableCell(wording.parts_of(one.offer, included=False))
    yield "Extra miles", lambda one: _excess(one, report.case.scenario)
    yield "APR worked out", lambda one: TableCell(*wording.apr(one))
    if use.discount_rate:
        rate = f"{to_places(use.discount_rate * 100, 1)} %"
        yield f"In today’s money, at {rate} a year", lambda one: TableCell(pence_as_pounds(one.present_value))
    if use.marginal_tax_rate:
        yield "After tax", lambda one: TableCell(pence_as_pounds(one.after_tax))


def _place(one: Figures, least: int) -> TableCell:
    if one.total == least:
        return TableCell("Cheapest", is_best=True)
    return TableCell(f"{pence_as_pounds(one.total - least)} more")


def _hours(one: Figures) -> TableCell:
    if one.hours_a_week is None:
        return TableCell(_NOT_KNOWN, "a lesson hour has no price yet")
    return TableCell(f"{one.hours_a_week} h")


def _or_not_known(pence: int | None) -> str:
    return _NOT_KNOWN if pence is None else pence_as_pounds(pence)


def _excess(one: Figures, scenario: Scenario) -> TableCell:
    """The miles above the allowance, over the time for which it counts, and what they cost."""
    offer = one.offer
    if offer.mileage_allowance is None:
        return TableCell("No limit")
    term = Fraction(offer.payments, payments_a_year(offer))
    years = scenario.years if offer.is_hire else min(scenario.years, term)
    over = scenario.miles - offer.mileage_allowance * years
    allowed = f"{whole(int(offer.mileage_allowance))} a year allowed"
    if over <= 0:
        return TableCell("None", allowed)
    cost = pence_as_pounds(divide_half_up(excess(offer, scenario, years), 1))
    if offer.is_hire or offer.at_end == "hand_back":
        return TableCell(whole(int(over)), f"{cost} to pay at the end; {allowed}")
    return TableCell(whole(int(over)), f"{cost} if you handed it back, which isn’t the plan; {allowed}")
