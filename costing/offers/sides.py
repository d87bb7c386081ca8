"""The offers side by side, cheapest first: every figure as a row of words, one cell an offer."""

from collections.abc import Callable, Iterator
from fractions import Fraction
from string import ascii_uppercase
from typing import NamedTuple

from config.showing import pence_as_pounds, whole
from costing.core.money import divide_half_up, to_places
from costing.core.offers.compare import Figures, Outcome
from costing.core.offers.exits import excess
from costing.core.offers.payments import payments_a_year
from costing.core.offers.terms import Scene
from costing.offers import wording
from costing.offers.report import OffersReport

_NOT_KNOWN = "Not known"


class Cell(NamedTuple):
    """One figure in words, and what is to be said of it. ``is_best``: to be marked by shape."""

    words: str
    note: str = ""
    is_best: bool = False


class Row(NamedTuple):
    """One measure of every offer."""

    label: str
    cells: list[Cell]


class Side(NamedTuple):
    """One offer among the others; ``letter`` stands for it in the pictures and on paper."""

    letter: str
    place: int
    figures: Figures
    kind: str

    @property
    def name(self) -> str:
        return self.figures.offer.name


_Measure = Callable[[Figures], Cell]


def sides_of(report: OffersReport) -> list[Side]:
    """The offers, cheapest first; of equals, as given."""
    ranked = sorted(report.base.figures, key=lambda one: one.total)
    return [
        Side(letter, 1 + sum(other.total < one.total for other in ranked), one, one.offer.way.words)
        for letter, one in zip(ascii_uppercase, ranked, strict=False)
    ]


def rows_of(report: OffersReport, sides: list[Side]) -> list[Row]:
    """All that is said of the offers; what is worked out only on request is left out until it is asked for."""
    return [Row(label, [cell(side.figures) for side in sides]) for label, cell in _measures(report)]


def money_rows(sides: list[Side]) -> list[Row]:
    """Where the money goes, part by part, with the total."""
    parts = [code for code in wording.PARTS if any(code in side.figures.flow.parts for side in sides)]
    rows = [
        Row(wording.PARTS[code], [Cell(pence_as_pounds(side.figures.flow.parts.get(code, 0))) for side in sides])
        for code in parts
    ]
    return [*rows, Row("Total", [Cell(pence_as_pounds(side.figures.total)) for side in sides])]


def running_total_rows(report: OffersReport, sides: list[Side]) -> list[Row]:
    """What has been paid so far at the start, each half-year and the end."""
    use = report.case.use
    at = sorted({*range(0, use.months, 6), use.months})
    return [
        Row(wording.month(use, k), [Cell(pence_as_pounds(sum(side.figures.flow.months[: k + 1]))) for side in sides])
        for k in at
    ]


def event_rows(outcomes: list[Outcome], sides: list[Side]) -> list[Row]:
    """What each course of events makes of the totals."""
    rows = []
    for outcome in outcomes:
        totals = {one.offer.name: one.total for one in outcome.figures}
        least = min(totals.values())
        cells = [Cell(pence_as_pounds(totals[side.name]), is_best=totals[side.name] == least) for side in sides]
        rows.append(Row(outcome.name, cells))
    return rows


def _measures(report: OffersReport) -> Iterator[tuple[str, _Measure]]:
    use, least = report.case.use, report.cheapest.total
    yield "Place", lambda one: _place(one, least)
    yield f"In all, {use.months} months", lambda one: Cell(pence_as_pounds(one.total), is_best=one.total == least)
    yield "A week", lambda one: Cell(pence_as_pounds(one.per_week))
    yield "A mile", lambda one: Cell(_or_not_known(one.per_mile))
    yield "A lesson hour", lambda one: Cell(_or_not_known(one.per_lesson_hour))
    yield "Up front", lambda one: Cell(pence_as_pounds(one.up_front))
    yield "Dearest month", lambda one: Cell(pence_as_pounds(one.dearest.pence), wording.month(use, one.dearest.month))
    yield "Lesson hours a week that pay for it", _hours
    yield "Terms", lambda one: Cell(wording.terms(one.offer))
    yield "Included", lambda one: Cell(wording.parts_of(one.offer, included=True))
    yield "Not included", lambda one: Cell(wording.parts_of(one.offer, included=False))
    yield "Miles beyond the allowance", lambda one: _excess(one, report.case.scene)
    yield "APR worked out", lambda one: Cell(*wording.apr(one))
    if use.discount_rate:
        rate = f"{to_places(use.discount_rate * 100, 1)} %"
        yield f"Worth today, at {rate} a year", lambda one: Cell(pence_as_pounds(one.present_value))
    if use.marginal_tax_rate:
        yield "After tax", lambda one: Cell(pence_as_pounds(one.after_tax))


def _place(one: Figures, least: int) -> Cell:
    if one.total == least:
        return Cell("Cheapest", is_best=True)
    return Cell(f"{pence_as_pounds(one.total - least)} more")


def _hours(one: Figures) -> Cell:
    return Cell(_NOT_KNOWN, "no price of a lesson hour") if one.hours_a_week is None else Cell(f"{one.hours_a_week} h")


def _or_not_known(pence: int | None) -> str:
    return _NOT_KNOWN if pence is None else pence_as_pounds(pence)


def _excess(one: Figures, scene: Scene) -> Cell:
    """The miles above what is allowed over the time that the allowance is counted for, and what they cost."""
    offer = one.offer
    if offer.mileage_allowance is None:
        return Cell("No allowance")
    term = Fraction(offer.payments, payments_a_year(offer))
    years = scene.years if offer.is_hire else min(scene.years, term)
    over, allowed = (
        scene.miles - offer.mileage_allowance * years,
        f"{whole(int(offer.mileage_allowance))} a year allowed",
    )
    if over <= 0:
        return Cell("None", allowed)
    cost = pence_as_pounds(divide_half_up(excess(offer, scene, years), 1))
    if offer.is_hire or offer.at_end == "hand_back":
        return Cell(whole(int(over)), f"{cost} to pay at the end; {allowed}")
    return Cell(whole(int(over)), f"{cost} if it were handed back, which is not the plan; {allowed}")
