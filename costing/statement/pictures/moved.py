"""What is shown of why a lesson hour moved: the change, a sentence for each reason, a drawing, its table."""

from collections.abc import Sequence
from typing import NamedTuple

from config.charts.changes import ChangesFromUpright
from config.charts.pound import Part
from config.charts.scales import change_money
from config.showing import day
from costing.core.catalogue.costs import COST_CATEGORIES, CostGroup
from costing.core.periods import days_in, month_of, months_within, tax_year_of
from costing.core.records import Period
from costing.statement.core.moved import IN_COMMON, Factor, Kind, Moved
from costing.statement.pictures.ends import ends_moved
from costing.statement.pictures.reasons import Reason, more_or_less, reasons
from costing.statement.services.moved import Lacking, WhyMoved
from costing.wording.service import had_a_car


class MovedRow(NamedTuple):
    """A category of the table: what price and use did, both by itself, private miles, hours taught, and all together.

    By itself is what its sentence and its bar say; private miles and hours taught have a sentence and a bar each.
    """

    label: str
    group: CostGroup
    cells: list[str]


class MovedShown(NamedTuple):
    """The change in ``amount`` words, the period it is held against, and a sentence for each reason and each last day.

    ``in_service`` says of which of the two not all days had a car. Without a figure of one of the two, ``lacks`` says
    which and why, and there is nothing else.
    """

    amount: str
    than: str
    in_service: list[str]
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
        return MovedShown("", than, [], [], None, [], [], lacks)
    change, told = why.moved.change, reasons(why.moved)
    amount = more_or_less(change) if change else "The same"
    return MovedShown(
        amount=amount,
        than=f"{'than' if change else 'as'} {than}",
        in_service=_in_service(why, why.moved),
        sentences=[*(one.sentence for one in told), *ends_moved(why)],
        chart=_chart(why.moved, told, than),
        rows=_rows(why.moved),
        total=_cells(why.moved, ""),
        lacks=[],
    )


def _lack(one: Lacking, period: Period) -> str:
    """Which of the two is not known, and why."""
    return f"A lesson hour {_than(one.period, period)} is not known: {'; '.join(one.reasons)}."


def _in_service(why: WhyMoved, found: Moved) -> list[str]:
    """Of which of the two periods the figure is only of a part, because there was no car on some of its days."""
    when = _than(why.period, why.period)
    both = (
        ("Then", why.than, found.before.days),
        (f"{when[:1].upper()}{when[1:]}", why.period, found.after.days),
    )
    return [f"{words} {had_a_car(days, days_in(period))}." for words, period, days in both if days < days_in(period)]


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


def _chart(moved: Moved, told: Sequence[Reason], than: str) -> ChangesFromUpright | None:
    """The reasons as bars, each of the sum that its sentence says; None without any."""
    if not told:
        return None
    cost = f"cost {more_or_less(moved.change)} than {than}" if moved.change else f"cost the same as {than}"
    title = f"A lesson hour {cost}; what moved most: {told[0].name}, {more_or_less(told[0].pence)}"
    return ChangesFromUpright(title, tuple(Part(one.tone, one.words, one.pence) for one in told))


def _rows(moved: Moved) -> list[MovedRow]:
    """The categories that changed, the largest change first."""
    pence = {one.category: 0 for one in moved.effects if one.pence}
    for one in moved.effects:
        if one.category in pence:
            pence[one.category] += one.pence
    names = sorted(pence, key=lambda name: -abs(pence[name]))
    return [MovedRow(COST_CATEGORIES[name].label, COST_CATEGORIES[name].group, _cells(moved, name)) for name in names]


def _cells(moved: Moved, category: str) -> list[str]:
    """A row of the table, of a category or of all without one, as `MovedRow` has it; a dash for nothing."""
    own = [one for one in moved.effects if category in {"", one.category}]
    private, taught = (sum(one.pence for one in own if one.factor is factor) for factor in (Factor.SHARE, _HOURS))
    itself = [one for one in own if one.factor not in IN_COMMON]
    price, use = (sum(one.pence for one in itself if one.factor.kind is kind) for kind in (Kind.PRICE, Kind.USE))
    sums = (price, use, price + use, private, taught, sum(one.pence for one in own))
    return [change_money(pence) if pence else "–" for pence in sums]


#: How many hours share what runs anyway: the volume.
_HOURS = Factor.DAYS_AN_HOUR
