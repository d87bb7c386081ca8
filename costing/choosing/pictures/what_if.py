"""What could go wrong, offer beside offer: leaving in any month, falling ill, the chances of leaving, own events."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from config.charts.chances import Branch, ChancesTree
from config.showing import in_words
from costing.choosing.core.case import Use, WeeksOff, WhatIf
from costing.choosing.core.figures import Figures, WayOut
from costing.choosing.pictures import wording
from costing.choosing.pictures.table import (
    POUNDS,
    OfferColumn,
    TableCell,
    TableRow,
    bounds_of,
    has_purse,
    measured,
    purses,
)
from costing.choosing.report import OffersReport, WhatIfResult, least_of
from costing.core.money import divide_half_up, to_places

_NOT_TOLD = "not told"
#: What costs less with fewer miles.
_BY_MILE = ("tyres", "fuel", "excess_miles")
_USUAL_MONTH, _SIX_WEEKS_OFF = 6, WeeksOff(from_week=20, weeks=6)


def usual_month(use: Use) -> int:
    """The month to leave in that a page shows first."""
    return min(_USUAL_MONTH, use.months)


def usual_weeks(use: Use) -> WeeksOff:
    """The weeks of illness that a page shows first; in a short plan they begin with it."""
    last = use.months * 52 // 12
    return _SIX_WEEKS_OFF if last >= _SIX_WEEKS_OFF.from_week + _SIX_WEEKS_OFF.weeks else WeeksOff(1, min(6, last))


def leaving_row(month: int, then: Sequence[Figures]) -> TableRow:
    """What each offer has cost if one leaves in a month, and how one then leaves."""
    ways = ["" if _is_way_open(one) else wording.WAYS[one.way_out][0] for one in then]
    row = measured(f"Leave in month {month}", [bounds_of(one) for one in then], POUNDS)
    cells = [cell._replace(note=way) for cell, way in zip(row.cells, ways, strict=True)]
    return row._replace(cells=cells)


def _is_way_open(one: Figures) -> bool:
    """Whether the cheapest way out hangs on what the car fetches, because there is another."""
    return "value" in one.not_told and len(one.ways_out) > 1


def illness_of(report: OffersReport, off: WeeksOff) -> WhatIfResult:
    """Every offer with weeks off, and the takings lost, the same whatever the offer."""
    words = f"{in_words(off.weeks)} {'week' if off.weeks == 1 else 'weeks'} ill"
    return report.what_if(WhatIf(words.capitalize(), off=off))


def illness_row(columns: Sequence[OfferColumn], ill: WhatIfResult) -> TableRow:
    """Whose payments run on, and whose pause."""
    cells = []
    for column in columns:
        offer = column.figures.offer
        words = "runs on" if offer.payments else "no payments"
        cells.append(TableCell("pauses", best="the best") if offer.pauses_when_off else TableCell(words))
    return TableRow(ill.name, cells)


def illness_rows(use: Use, columns: Sequence[OfferColumn], ill: WhatIfResult) -> list[TableRow]:
    """What each offer costs then, how low the purse falls, and the takings lost beside it."""
    then = of_columns(ill.figures, columns)
    less = [_saved(column.figures, one) for column, one in zip(columns, then, strict=True)]
    rows = [illness_row(columns, ill), TableRow("Its cost then", less)]
    if has_purse(use):
        rows.append(purses(use, then, "before the takings lost"))
    return [*rows, TableRow("Takings lost", [TableCell(wording.figure(ill.takings_lost or 0)) for _ in columns])]


def _saved(planned: Figures, ill: Figures) -> TableCell:
    """How much less an offer costs then. Costs by mile that aren't told fall too, by nobody knows how much."""
    if _is_way_open(planned):
        return TableCell(_NOT_TOLD)
    pence, by_mile = planned.told - ill.told, [part for part in planned.not_told if part in _BY_MILE]
    words = f"{wording.figure(pence)} less" if pence else "as planned"
    fewer = wording.listed([wording.short(part) for part in by_mile]) if by_mile else ""
    return TableCell(words, f"{'and' if pence else 'but'} less for {fewer}" if fewer else "")


def ways_out_rows(then: Sequence[Figures]) -> list[TableRow]:
    """Every way out in a month, offer beside offer; the one that is taken stands out, where that can be said."""
    rows = []
    for code, (_, label) in wording.WAYS.items():
        found = [next((way for way in one.ways_out if way.way == code), None) for one in then]
        if any(found):
            rows.append(TableRow(label, [_way(way, one) for way, one in zip(found, then, strict=True)]))
    return rows


def _way(way: WayOut | None, one: Figures) -> TableCell:
    if way is None:
        return TableCell("–")
    is_taken = way.is_taken and not _is_way_open(one)
    taken = "the way taken" if is_taken else ""
    if way.pence is None:
        return TableCell(_NOT_TOLD if is_taken else "no figure", best=taken)
    words = f"{wording.figure(-way.pence)} back" if way.pence < 0 else wording.figure(way.pence)
    disputed = f"{wording.figure(way.disputed)} of it disputed" if way.disputed else ""
    return TableCell(words, disputed, taken)


def reasons(columns: Sequence[OfferColumn], then: Sequence[Figures]) -> list[tuple[str, str]]:
    """Why a way out has no figure, by the letter of its offer."""
    return [
        (column.letter, f"{wording.WAYS[way.way][1]}: {way.reason}")
        for column, one in zip(columns, then, strict=True)
        for way in one.ways_out
        if way.pence is None and way.reason
    ]


class Path(NamedTuple):
    """One way that it may go: how likely, the month in which it ends, and every offer then."""

    chance: Fraction
    month: int
    words: str
    then: WhatIfResult


def paths(report: OffersReport, licence_ends: int | None = None) -> list[Path]:
    """The ways that it may go by the chances of leaving, the longest last; empty without any.

    From the end of month ``licence_ends`` on there are no paid lessons on the ways on which one leaves: a trainee
    licence has ended before the test was passed. Payments run on then, also where they would pause for an illness.
    """
    use = report.case.use
    if not use.leaving:
        return []
    chances = sorted(one for one in use.leaving if one.chance)
    ways = [
        Path(one.chance, one.month, f"Leave in month {one.month}", _left(report, one.month, licence_ends))
        for one in chances
    ]
    stays = 1 - sum((one.chance for one in chances), Fraction(0))
    if stays:
        ways.append(Path(stays, use.months, f"Stay to month {use.months}", _left(report, use.months, None)))
    return ways


def _left(report: OffersReport, month: int, licence_ends: int | None) -> WhatIfResult:
    if licence_ends is None or licence_ends >= month:
        return report.what_if(WhatIf("", leave_at_month=month))
    case, before = report.case, licence_ends * 52 // 12
    # Weeks in which nobody would have taught are not lost.
    taught = (month * 52 // 12 - before) * case.use.weeks_taught_per_year / 52
    off = WeeksOff(before + 1, divide_half_up(taught, 1))
    run_on = tuple(offer._replace(pauses_when_off=False) for offer in case.offers)
    return OffersReport(case._replace(offers=run_on)).what_if(WhatIf("", off=off, leave_at_month=month))


def chance_tree(ways: Sequence[Path]) -> ChancesTree:
    """The ways as branches."""
    branches = tuple(Branch(float(one.chance), one.month, in_100(one.chance), one.words) for one in ways)
    likeliest = max(ways, key=lambda one: one.chance)
    return ChancesTree(f"The likeliest way, {in_100(likeliest.chance)}: {_lower(likeliest.words)}", branches)


def _lower(words: str) -> str:
    return f"you {words[:1].lower()}{words[1:]}"


def averages(ways: Sequence[Path]) -> dict[str, int | None]:
    """What each offer comes to on average over the ways, in pence; None where a total isn't known."""
    found: dict[str, int | None] = {}
    for each in zip(*(one.then.figures for one in ways), strict=True):
        totals = [(way.chance, one.total) for way, one in zip(ways, each, strict=True)]
        known = [chance * total for chance, total in totals if total is not None]
        found[each[0].offer.name] = divide_half_up(sum(known, Fraction(0)), 1) if len(known) == len(ways) else None
    return found


def expected_rows(columns: Sequence[OfferColumn], ways: Sequence[Path]) -> list[TableRow]:
    """What each offer comes to on average over the ways, and on the dearest of them."""
    return [_on_average(columns, averages(ways)), _dearest_way(columns, ways)]


def path_rows(columns: Sequence[OfferColumn], ways: Sequence[Path]) -> list[TableRow]:
    """What each offer comes to on each of the ways."""
    rows = []
    for one in ways:
        lost = one.then.takings_lost
        note = in_100(one.chance) + (f"; takings lost beside: {wording.figure(lost)}" if lost else "")
        rows.append(TableRow(one.words, _cells(of_columns(one.then.figures, columns)), note))
    return rows


def _on_average(columns: Sequence[OfferColumn], average: Mapping[str, int | None]) -> TableRow:
    expected = [average[column.name] for column in columns]
    least = min((one for one in expected if one is not None), default=None)
    cells = []
    for pence in expected:
        best = "the lowest" if None not in expected and len(expected) > 1 and pence == least else ""
        cells.append(TableCell(_NOT_TOLD if pence is None else wording.figure(pence), best=best))
    return TableRow("On average", cells)


def _dearest_way(columns: Sequence[OfferColumn], ways: Sequence[Path]) -> TableRow:
    """The most that each offer comes to. It is often dear only because one has the car the longest, which is said."""
    longest, cells = max(one.month for one in ways), []
    for column in columns:
        then = [(of_columns(one.then.figures, [column])[0].at_most, one.month) for one in ways]
        known = [(pence, month) for pence, month in then if pence is not None]
        most = max(known) if len(known) == len(then) else None
        if most:
            note = f"month {most[1]}{', also the longest use' if most[1] == longest else ''}"
            cells.append(TableCell(wording.figure(most[0]), note))
        else:
            cells.append(TableCell(_NOT_TOLD))
    return TableRow("The dearest way", cells)


def expected_words(average: Mapping[str, int | None], letters: Mapping[str, str]) -> str:
    """Which offer costs the least on average over the chances of leaving, in one sentence."""
    name = least_of(average)
    if name is not None:
        sum_ = wording.pounds(average[name] or 0)
        return f"By the chances of leaving, {letters[name]} costs the least on average: {sum_}."
    if None in average.values():
        return "By the chances of leaving there is no average for every offer yet, because not all is told."
    return "By the chances of leaving no offer costs less on average than every other."


def event_rows(report: OffersReport, columns: Sequence[OfferColumn]) -> list[TableRow]:
    """What each event of the comparison's own makes of each offer."""
    return [
        TableRow(event.name, _cells(of_columns(event.figures, columns)), _lost(event.takings_lost))
        for event in report.what_ifs
    ]


def _lost(takings: int | None) -> str:
    return "" if takings is None else f"takings lost beside: {wording.pounds(takings)}"


def of_columns(found: Iterable[Figures], columns: Sequence[OfferColumn]) -> list[Figures]:
    """The figures of the offers shown, in the order of their columns."""
    by_name: Mapping[str, Figures] = {one.offer.name: one for one in found}
    return [by_name[column.name] for column in columns]


def _cells(then: Sequence[Figures]) -> list[TableCell]:
    return measured("", [bounds_of(one) for one in then], POUNDS).cells


def in_100(chance: Fraction) -> str:
    """A chance as people say it: 25 in 100."""
    return f"{to_places(chance * 100, 1).normalize():f} in 100"
