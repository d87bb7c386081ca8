"""What is shown of why a lesson hour moved: the change, a sentence for each reason, a drawing, its table."""

from typing import NamedTuple

from config.charts.changes import ChangesFromUpright
from config.charts.scales import change_money
from config.showing import day
from costing.charts import group_of, parts_of
from costing.core.catalogue.costs import COST_CATEGORIES, CostGroup
from costing.core.periods import days_in, month_of, months_within, tax_year_of
from costing.core.records import Period
from costing.statement.core.moved import Kind, Moved
from costing.statement.pictures.ends import ends_moved
from costing.statement.pictures.reasons import more_or_less, reasons
from costing.statement.services.moved import Lacking, WhyMoved


class MovedRow(NamedTuple):
    """A category of the table: what price, use and volume did, and all together."""

    label: str
    group: CostGroup
    cells: list[str]


class MovedShown(NamedTuple):
    """The change in ``amount`` words, the period it is held against, and a sentence for each reason and each last day.

    Without a figure of one of the two, ``lacks`` says which and why, and there is nothing else.
    """

    amount: str
    than: str
    sentences: list[str]
    chart: ChangesFromUpright | None
    rows: list[MovedRow]
    total: list[str]
    lacks: list[str]


def shown(why: WhyMoved) -> MovedShown:
    """What a page or a sheet of paper shows of it."""
    than = _than(why.than, why.period)
    if why.moved is None:
        lacks = [_lack(one, why.period) for one in why.lacks]
        return MovedShown("", than, [], None, [], [], lacks)
    change = why.moved.change
    amount = more_or_less(change) if change else "The same"
    return MovedShown(
        amount=amount,
        than=f"{'than' if change else 'as'} {than}",
        sentences=[*(one.sentence for one in reasons(why.moved)), *ends_moved(why)],
        chart=_chart(why.moved, than),
        rows=_rows(why.moved),
        total=_cells(why.moved, ""),
        lacks=[],
    )


def _lack(one: Lacking, period: Period) -> str:
    """Which of the two is not known, and why."""
    return f"A lesson hour {_than(one.period, period)} is not known: {'; '.join(one.reasons)}."


def _than(than: Period, period: Period) -> str:
    """A period as it follows "than": in August, in the 12 months to September 2025."""
    first, last = than
    if than == month_of(first):
        return f"in {first:%B}" if first.year == period.first.year else f"in {first:%B %Y}"
    if than == tax_year_of(first):
        return f"in the tax year {first.year} to {last.year}"
    if first.day == 1 and last == month_of(last).last:
        return f"in the {len(months_within(than))} months to {last:%B %Y}"
    days = days_in(than)
    return f"on {day(first)}" if days == 1 else f"in the {days} days to {day(last)}"


def _chart(moved: Moved, than: str) -> ChangesFromUpright | None:
    """The changes by group; None if no group has changed."""
    changes = ChangesFromUpright("", parts_of((one.group, one.pence) for one in moved.effects))
    if not changes.drawn:
        return None
    largest = changes.drawn[0]
    told = f"cost {more_or_less(moved.change)} than {than}" if moved.change else f"cost the same as {than}"
    title = f"A lesson hour {told}; what moved most: {group_of(largest).spoken.lower()}, {more_or_less(largest.pence)}"
    return ChangesFromUpright(title, changes.changes)


def _rows(moved: Moved) -> list[MovedRow]:
    """The categories that changed, the largest change first."""
    pence = {one.category: 0 for one in moved.effects if one.pence}
    for one in moved.effects:
        if one.category in pence:
            pence[one.category] += one.pence
    names = sorted(pence, key=lambda name: -abs(pence[name]))
    return [MovedRow(COST_CATEGORIES[name].label, COST_CATEGORIES[name].group, _cells(moved, name)) for name in names]


def _cells(moved: Moved, category: str) -> list[str]:
    """What each kind of effect did in a category, or in all without one, and their sum; a dash for nothing."""
    own = [one for one in moved.effects if category in {"", one.category}]
    sums = [sum(one.pence for one in own if one.factor.kind is kind) for kind in Kind]
    return [change_money(pence) if pence else "–" for pence in (*sums, sum(sums))]
