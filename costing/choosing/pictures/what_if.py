"""What could go wrong, offer beside offer: leaving in any month, falling ill, the chances of leaving, own events."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from costing.choosing.core.case import Use, WeeksOff, WhatIf
from costing.choosing.core.figures import Figures, WayOut
from costing.choosing.pictures import wording
from costing.choosing.pictures.table import OfferColumn, TableCell, TableRow, bounds_of, measured
from costing.choosing.report import OffersReport, WhatIfResult
from costing.core.money import to_places

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
    ways = [wording.WAYS[one.way_out][0] for one in then]
    row = measured(f"Leave in month {month}", [bounds_of(one) for one in then], wording.figure)
    cells = [cell._replace(note=way) for cell, way in zip(row.cells, ways, strict=True)]
    return row._replace(cells=cells)


def illness_of(report: OffersReport, off: WeeksOff) -> WhatIfResult:
    """Every offer with weeks off, and the takings lost, the same whatever the offer."""
    words = f"{off.weeks} {'week' if off.weeks == 1 else 'weeks'} ill"
    return report.what_if(WhatIf(words, off=off))


def illness_row(columns: Sequence[OfferColumn], ill: WhatIfResult) -> TableRow:
    """Whose payments run on, and whose pause."""
    cells = []
    for column in columns:
        offer = column.figures.offer
        words = "runs on" if offer.payments else "no payments"
        cells.append(TableCell("pauses", best="the best") if offer.pauses_when_off else TableCell(words))
    return TableRow(ill.name, cells)


def illness_rows(columns: Sequence[OfferColumn], ill: WhatIfResult) -> list[TableRow]:
    """What each offer costs then, how low the purse falls, and the takings lost beside it."""
    by_name = {one.offer.name: one for one in ill.figures}
    then = [by_name[column.name] for column in columns]
    less = [
        TableCell(f"{wording.figure(column.figures.told - one.told)} less" if one.told != column.figures.told else "as planned")
        for column, one in zip(columns, then, strict=True)
    ]
    rows = [illness_row(columns, ill), TableRow("It costs then", less)]
    if any(one.lowest_purse for one in then):
        purses = [
            TableCell(wording.figure(one.lowest_purse.pence), f"month {one.lowest_purse.month}")
            if one.lowest_purse
            else TableCell("not told")
            for one in then
        ]
        rows.append(TableRow("Purse lowest", purses, "without the takings lost"))
    return [*rows, TableRow("Takings lost", [TableCell(wording.figure(ill.takings_lost or 0)) for _ in columns])]


def ways_out_rows(then: Sequence[Figures]) -> list[TableRow]:
    """Every way out in a month, offer beside offer; the one that is taken stands out."""
    rows = []
    for code, (_, label) in wording.WAYS.items():
        found = [next((way for way in one.ways_out if way.way == code), None) for one in then]
        if any(found):
            rows.append(TableRow(label, [_way(way) for way in found]))
    return rows


def _way(way: WayOut | None) -> TableCell:
    if way is None:
        return TableCell("–")
    taken = "the way taken" if way.is_taken else ""
    if way.pence is None:
        return TableCell("not told" if way.is_taken else "no figure", best=taken)
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
    """One way that it may go: how likely, until which month, and what each offer then comes to."""

    chance: str
    words: str
    cells: list[TableCell]


def paths(report: OffersReport, columns: Sequence[OfferColumn]) -> list[Path]:
    """The ways that it may go by the chances of leaving, the longest last; empty without any."""
    use = report.case.use
    if not use.leaving:
        return []
    chances = sorted(use.leaving)
    stays = 1 - sum((one.chance for one in chances), Fraction(0))
    leaving = report.leaving()
    ways = [(one.chance, one.month, f"you leave in month {one.month}") for one in chances]
    ways += [(stays, use.months, f"you stay to month {use.months}")] if stays else []
    return [
        Path(_in_100(chance), words, _cells(_of_columns(leaving[month - 1], columns))) for chance, month, words in ways
    ]


def expected_rows(report: OffersReport, columns: Sequence[OfferColumn]) -> list[TableRow]:
    """What each offer comes to on average by the chances, and at worst."""
    months = [*(one.month for one in report.case.use.leaving), report.case.use.months]
    leaving = report.leaving()
    expected = [report.expected[column.name] for column in columns]
    least = min((one for one in expected if one is not None), default=None)
    on_average = [
        TableCell("not told")
        if pence is None
        else TableCell(wording.figure(pence), best="the lowest" if None not in expected and pence == least else "")
        for pence in expected
    ]
    worst = []
    for column in columns:
        then = [(one.at_most, month) for month in months for one in leaving[month - 1] if one.offer.name == column.name]
        known = [(pence, month) for pence, month in then if pence is not None]
        most = max(known) if len(known) == len(then) else None
        worst.append(TableCell(wording.figure(most[0]), f"month {most[1]}") if most else TableCell("not told"))
    return [TableRow("On average", on_average), TableRow("At worst", worst)]


def event_rows(report: OffersReport, columns: Sequence[OfferColumn]) -> list[TableRow]:
    """What each event of the comparison's own makes of each offer."""
    return [
        TableRow(event.name, _cells(_of_columns(event.figures, columns)), _lost(event.takings_lost))
        for event in report.what_ifs
    ]


def _lost(takings: int | None) -> str:
    return "" if takings is None else f"takings lost beside: {wording.pounds(takings)}"


def _of_columns(found: Iterable[Figures], columns: Sequence[OfferColumn]) -> list[Figures]:
    by_name: Mapping[str, Figures] = {one.offer.name: one for one in found}
    return [by_name[column.name] for column in columns]


def _cells(then: Sequence[Figures]) -> list[TableCell]:
    return measured("", [bounds_of(one) for one in then], wording.figure).cells


def _in_100(chance: Fraction) -> str:
    return f"{to_places(chance * 100, 1).normalize():f} in 100"
