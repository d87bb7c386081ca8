"""A statement on paper: its face with the figures and drawings, then each entry by category."""

from collections.abc import Sequence
from typing import Any, NamedTuple

from config.showing import day, hours, pence_as_pounds, whole
from costing.charts import median_of, months_stacked
from costing.core.catalogue.costs import DEPRECIATION
from costing.core.periods import spanning
from costing.core.records import Fill
from costing.core.running_cost import RunningCost
from costing.report import OwnBesideGroup
from costing.statement.pictures import economy, moved
from costing.statement.pictures.elsewhere import elsewhere_of
from costing.statement.pictures.ends import ends_of
from costing.statement.pictures.entries import EntryLine, lines_of
from costing.statement.pictures.lacks import known_but_for_days
from costing.statement.pictures.page import dial_of, estimates_of, figure_of, groups_of, pound_of, sentence_of, used
from costing.statement.report import Statement, StatementEntry, StatementLine
from costing.statement.services.economy import CarEconomy
from costing.statement.services.moved import WhyMoved
from costing.wording.periods import title_of
from fleet.core.registration import show

_CAUTION = "True cost spreads each sum over the days or miles it pays for."
_ESTIMATED = "Loss of value is an estimate."
_NO_RETURN = "Not for a tax return."
#: What stands in its place below a tax year, whose money out is what a return asks for.
_OF_RETURN = "For a tax return see the money out and the business share of it; the true cost is no figure for one."


class Figure(NamedTuple):
    """One of the figures at the head: large, and what it is of; without a figure why not."""

    large: str
    words: str


class EntryRow(NamedTuple):
    """One entry: when it was paid, what, by which rule it was shared, and its sums."""

    when: str
    what: str
    rule: str
    true_cost: str
    money_out: str


class HeldRow(NamedTuple):
    """What no entry tells, as interest, hire or loss of value: its name and its true cost."""

    what: str
    true_cost: str


class MonthRow(NamedTuple):
    """A month of a year: its figures as the table has them, and its entries, the latest first."""

    title: str
    cells: list[str]
    true_cost: str
    money_out: str
    entries: list[EntryRow]
    held: list[HeldRow]


class Category(NamedTuple):
    """A category with each of its entries, and what of it rests on none."""

    line: StatementLine
    true_cost: str
    money_out: str
    entries: list[EntryRow]
    held: list[HeldRow]


def paper_of(
    statement: Statement,
    months: Sequence[OwnBesideGroup],
    why: WhyMoved | None,
    economies: Sequence[CarEconomy],
    price: int | None,
) -> dict[str, Any]:
    """The context of the template. ``months`` are the twelve that end with the statement's last month.

    ``why`` is why the lesson hour moved, ``economies`` are those of the cars that were filled; ``price`` is what the
    member takes for a lesson hour, in pence, if they said so.
    """
    cost = statement.cost
    # Why the figure itself is not known stands under "How well it is known".
    is_known = cost.cost_per_lesson_hour is not None
    return {
        "statement": statement,
        "of": ", ".join([*(show(car.registration) for car in statement.cars), statement.own.member.name]),
        "figures": figures_of(statement),
        "dial": dial_of(statement, price),
        "pound": pound_of(statement),
        "groups": groups_of(statement),
        "total": [figure_of(cost.true_cost), figure_of(cost.money_out)],
        "sentence": sentence_of(statement),
        "why": moved.shown(why) if why and is_known else None,
        "known": [*ends_of(statement), *elsewhere_of(statement), *how_well_known(statement)],
        "economies": economy.shown(economies),
        "months": months_picture(months),
        "months_title": title_of(spanning([month.period for month in months])),
        "categories": [_category(line, statement) for line in statement.lines],
        "caution": caution_of(statement),
    }


def rows_of(*statements: Statement) -> int:
    """How many rows a paper of them has, which tell how long it takes."""
    return sum(1 + len(line.entries) for statement in statements for line in statement.lines)


def year_of(year: Statement, months: Sequence[Statement]) -> dict[str, Any]:
    """What a year's paper has beside its face: each month's figures and entries."""
    return {"rows": [_month(month) for month in months], "year_cells": _cells(year.cost)}


def figures_of(statement: Statement) -> list[Figure]:
    """The lesson hour and lesson, the mile, and true cost beside money out; nothing in the book is no nought."""
    cost = statement.cost
    hour, mile = cost.cost_per_lesson_hour, cost.cost_per_mile
    of_known = " as far as it is known" if cost.is_partial else ""
    miles = "" if cost.miles_shown is None else f", {whole(cost.miles_shown)} miles"
    sums = f"true cost{of_known}, {pence_as_pounds(cost.money_out)} money out"
    total = [Figure(pence_as_pounds(cost.true_cost), sums)] if statement.groups else []
    lesson = "" if cost.cost_per_lesson is None else f", {pence_as_pounds(cost.cost_per_lesson)} a lesson"
    of_hour = Figure(_or_not_known(hour), f"a lesson hour{lesson}")
    return [of_hour, Figure(_or_not_known(mile), f"a mile{miles}"), *total]


def _or_not_known(pence: int | None) -> str:
    return "Not known" if pence is None else pence_as_pounds(pence)


def how_well_known(statement: Statement) -> list[str]:
    """What is missing and what is estimated, in sentences; or that nothing is known to be."""
    missing = [f"{reason[:1].upper()}{reason[1:]}." for reason in statement.missing]
    until = statement.cost.known_until
    if missing and until and known_but_for_days(statement):
        missing.append(f"Readings, fills and lessons are all in until {day(until)}.")
    all_in = [] if missing else ["No reading, fill or lesson of these days is known to be missing."]
    return [*missing, *estimates_of(statement), *all_in]


def months_picture(months: Sequence[OwnBesideGroup]) -> Any:
    """The months as columns, with what they show as title; None if no lesson hour of them is known."""
    told = [month for month in months if month.own.cost_per_lesson_hour is not None]
    if not told:
        return None
    dearest = max(told, key=lambda month: month.own.cost_per_lesson_hour or 0)
    cheapest = min(told, key=lambda month: month.own.cost_per_lesson_hour or 0)
    words = f"A lesson hour cost {_of(dearest)} in {dearest.title}"
    if dearest is not cheapest:
        words = f"From {_of(cheapest)} in {cheapest.title} to {_of(dearest)} in {dearest.title}"
    if any(median_of(month) for month in told):
        words += "; across them the group’s rounded median"
    return months_stacked(months, words)


def _of(month: OwnBesideGroup) -> str:
    return pence_as_pounds(month.own.cost_per_lesson_hour or 0)


def caution_of(statement: Statement) -> str:
    """What stands at the foot of every page."""
    estimated = [_ESTIMATED] if DEPRECIATION.name in statement.cost.estimated else []
    return " ".join([_CAUTION, *estimated, _OF_RETURN if statement.is_of_tax_year else _NO_RETURN])


def _category(line: StatementLine, statement: Statement) -> Category:
    several = len(statement.cars) > 1
    lines = lines_of(line.entries, statement.period)
    entries = [_entry(one, of, several=several) for one, of in zip(lines, line.entries, strict=True)]
    # Without entries its head says all of it.
    held = [HeldRow(line.label, figure_of(line.held))] if entries and line.held else []
    return Category(line, figure_of(line.pence), figure_of(line.money_out), entries, held)


def _entry(line: EntryLine, entry: StatementEntry, *, several: bool) -> EntryRow:
    what = f"{line.title}, {line.mark}" if several else line.title
    record = entry.record
    if isinstance(record, Fill):
        what += f", {_bought(record)} at {whole(record.odometer)} miles"
    return EntryRow(line.when, what, line.rule, figure_of(line.pence), figure_of(line.paid))


def _bought(fill: Fill) -> str:
    return f"{fill.thousandths / 1000:,.2f} {'kWh' if fill.unit == 'kwh' else 'litres'}"


def _month(month: Statement) -> MonthRow:
    cost, entries = month.cost, [entry for line in month.lines for entry in line.entries]
    entries.sort(key=lambda entry: (entry.on, entry.record.key or 0), reverse=True)
    lines, several = lines_of(entries, month.period), len(month.cars) > 1
    return MonthRow(
        *(month.title, _cells(cost), figure_of(cost.true_cost), figure_of(cost.money_out)),
        [_entry(line, entry, several=several) for line, entry in zip(lines, entries, strict=True)],
        held=[HeldRow(line.label, figure_of(line.held)) for line in month.lines if line.held],
    )


def _cells(cost: RunningCost) -> list[str]:
    """Miles, hours, true cost, money out, a mile and a lesson hour; words where one is not known."""
    minutes = used(cost, cost.minutes)
    return [
        "not known" if cost.miles_shown is None else whole(cost.miles_shown),
        ("not entered" if cost.tells_lessons else "not known") if minutes is None else hours(minutes),
        figure_of(cost.true_cost),
        figure_of(cost.money_out),
        *(
            "not known" if pence is None else figure_of(pence)
            for pence in (cost.cost_per_mile, cost.cost_per_lesson_hour)
        ),
    ]
