"""A comparison's money as records for `config.charts`. The same figures always stand beside a drawing in a table."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby, islice
from typing import NamedTuple

from config.charts.money import MoneyOfOffers, OfferBar
from config.charts.pound import Part
from config.charts.scales import short_money
from config.charts.totals import Band, OfferLine, RunningTotals
from costing.charts import group_of, parts_of
from costing.choosing.core.figures import Figures
from costing.choosing.core.verdicts import PairVerdict
from costing.choosing.pictures import wording
from costing.choosing.pictures.answer import lead_of
from costing.choosing.pictures.table import OfferColumn, TableCell, TableRow
from costing.choosing.report import OffersReport
from costing.core.catalogue.agreements import CAR_SUMS
from costing.core.catalogue.costs import RENTAL, CostGroup
from costing.core.catalogue.running import RUNNING_PARTS, are_many

#: The ways out by which the car goes back to whoever it belongs to, so that all that is paid is for its use.
_GOES_BACK = ("hand_back", "half_rule", "early_exit")
_MOST_BANDS = 2


def money_chart(columns: Sequence[OfferColumn]) -> MoneyOfOffers | None:
    """Where each offer's money goes; None if no offer has a part above nought."""
    bars = tuple(OfferBar(one.letter, one.name, tuple(_parts(one)), _untold(one.figures)) for one in columns)
    if not any(bar.length for bar in bars):
        return None
    pairs = [(column, part) for column, bar in zip(columns, bars, strict=True) for part in bar.parts]
    column, part = max(pairs, key=lambda pair: pair[1].pence)
    told = " of what is told" if any(one.figures.not_told for one in columns) else " of all"
    largest = f"{column.letter}’s {_spoken(group_of(part), column)}"
    return MoneyOfOffers(f"The largest part{told} is {largest}, {short_money(part.pence)}", bars)


def _parts(column: OfferColumn) -> Iterator[Part]:
    """The parts of an offer's bar, called what they are for this offer."""
    offer, not_told = column.figures.offer, column.figures.not_told
    for part in parts_of(amounts_of(column)):
        group = group_of(part)
        if group is CostGroup.FINANCE and offer.is_hire:
            yield part._replace(words="Hire")
        elif group is CostGroup.VALUE and "value" in not_told:
            yield part._replace(words="Price")
        else:
            yield part


def _untold(one: Figures) -> str:
    """What the open box stands for: the costs that aren't told."""
    parts = [part for part in one.not_told if part != "value"]
    return wording.short(parts[0]) if len(parts) == 1 else f"{len(parts)} more" if parts else ""


def _spoken(group: CostGroup, column: OfferColumn) -> str:
    """What a group of an offer's costs is called in a sentence: loss of value, rental, finance, tax and MOT."""
    if group is CostGroup.FINANCE:
        return RENTAL.label.lower() if column.figures.offer.is_hire else group.value
    if group is CostGroup.VALUE and "value" in column.figures.not_told:
        return "price, less what the car fetches"
    return group.spoken[:1].lower() + group.spoken[1:]


def amounts_of(column: OfferColumn) -> Iterator[tuple[CostGroup, int]]:
    """Each part of an offer's money with the group that it is drawn with, in pence; they add up to what is told.

    What a car that is bought loses is its price less what it fetches; all else that is paid for it pays for credit. One
    that goes back at the end is drawn as hired, whatever it is called.
    """
    one = column.figures
    parts = one.flow.parts
    car = sum(parts.get(name, 0) for name in CAR_SUMS if name != "given_back")
    lost = 0 if one.way_out in _GOES_BACK else (one.offer.price or 0) + parts.get("value_back", 0)
    yield CostGroup.VALUE, lost
    yield CostGroup.FINANCE, car - lost
    for name, part in RUNNING_PARTS.items():
        yield part.category.group, parts.get(name, 0)
    # Both tax and premium are given back in one sum.
    given_back, tax = parts.get("given_back", 0), parts.get("vehicle_tax", 0)
    yield CostGroup.TAX if tax + given_back >= 0 else CostGroup.INSURANCE, given_back


class Leaving(NamedTuple):
    """What it has cost if one leaves, month by month: the picture, the finding in words, and its table."""

    chart: RunningTotals
    rows: list[TableRow]
    has_open: bool
    has_jumps: bool
    left_out: str


def leaving_picture(report: OffersReport, columns: Sequence[OfferColumn], letters: Mapping[str, str]) -> Leaving:
    """The lines of the offers shown, over the months in which one may leave. The finding is of all offers."""
    shown = [column.name for column in columns]
    months = [tuple(one for one in then if one.offer.name in shown) for then in report.leaving()]
    by_month = [[one for one in then if {one.a, one.b} <= {*shown}] for then in report.verdicts_on_leaving]
    lines = tuple(_line(column, months, by_month) for column in columns)
    title = _finding(report, letters)
    if len(columns) < len(report.figures):
        title = _of_all(title, len(report.figures))
    chart = RunningTotals(title, lines, tuple(islice(_bands(report, columns, months), _MOST_BANDS)))
    is_open, has_jumps = any(line.open_months for line in lines), any(line.jumps for line in lines)
    return Leaving(chart, _rows(lines), is_open, has_jumps, _left_out(report))


def _of_all(finding: str, count: int) -> str:
    """A finding that speaks of more offers than are drawn."""
    words = finding if finding[1:2] == " " else f"{finding[:1].lower()}{finding[1:]}"  # a letter stays one
    return f"Of {'both' if count == 2 else f'all {count}'} offers, {words}"


def _left_out(report: OffersReport) -> str:
    """The parts that nobody has told of any offer, and that would cost all the same: no line counts them."""
    same = dict.fromkeys(part for one in report.verdicts for part in one.if_same)
    parts = [part for part in same if all(part in one.not_told for one in report.figures)]
    if not parts:
        return ""
    words, verb = wording.untold(parts), "are" if are_many(parts) else "is"
    return f"{words[:1].upper()}{words[1:]} {verb} in none of these figures."


def _line(
    column: OfferColumn, months: Sequence[tuple[Figures, ...]], by_month: Sequence[Sequence[PairVerdict]]
) -> OfferLine:
    own = [_of(column.name, then) for then in months]
    open_months, jumps = set(), set()
    for month, (one, pairs) in enumerate(zip(own, by_month, strict=True), start=1):
        concerned = [pair.if_same for pair in pairs if column.name in (pair.a, pair.b)]
        left_out = set.intersection(*(set(parts) for parts in concerned)) if concerned else set()
        if set(one.not_told) - left_out:
            open_months.add(month)
        if month > 1 and own[month - 2].way_out != one.way_out:
            jumps.add(month)
    pence = tuple(one.told for one in own)
    return OfferLine(column.letter, column.name, pence, frozenset(open_months), frozenset(jumps))


def _of(name: str, then: Sequence[Figures]) -> Figures:
    return next(one for one in then if one.offer.name == name)


def _finding(report: OffersReport, letters: Mapping[str, str]) -> str:
    """Who has cost the least, by the months in which one leaves, as far as that can be said."""
    if len(report.figures) < 2:
        return f"What {letters[report.figures[0].offer.name]} has cost if you leave then"
    leaders: list[tuple[str, tuple[str, ...]]] = []
    for then, found in zip(report.leaving(), report.verdicts_on_leaving, strict=True):
        lead = lead_of(then, found)
        leaders.append((letters[lead.name], lead.if_same) if lead and not lead.conditions else ("", ()))
    same = dict.fromkeys(part for _, parts in leaders for part in parts)
    if not any(one.not_told for then in report.leaving() for one in then) and not any(letter for letter, _ in leaders):
        return "None has cost less than every other, whenever you leave"
    runs = [(letter, len(list(group))) for letter, group in groupby(letter for letter, _ in leaders)]
    words = _runs_in_words(runs)
    return f"{words}, {wording.if_same(tuple(same), len(report.figures))}" if same else words


def _runs_in_words(runs: Sequence[tuple[str, int]]) -> str:
    if not any(letter for letter, _ in runs):
        return "Nobody can say yet which costs the least"
    if len(runs) == 1:
        return f"{runs[0][0]} has cost the least whenever you leave"
    months = sum(count for _, count in runs)
    if len(runs) > 3 and (open_months := sum(count for letter, count in runs if not letter)):
        known = {letter for letter, _ in runs if letter}
        of = f"{open_months} of {months} months"
        if len(known) == 1:
            return f"{known.pop()} has cost the least whenever it can be said: nobody can say in {of}"
        return f"Which one has cost the least changes with the month in which you leave; nobody can say in {of}"
    if len(runs) > 3:
        return f"Which one has cost the least changes {len(runs) - 1} times with the month in which you leave"
    said, start = [], 1
    for letter, count in runs:
        end = start + count - 1
        span = f"in month {start}" if count == 1 else f"in months {start} to {end}"
        said.append(f"{letter} {span}" if letter else f"nobody can say {span}")
        start = end + 1
    words = "; ".join(said)
    return f"The least if you leave: {words}"


def _bands(
    report: OffersReport, columns: Sequence[OfferColumn], months: Sequence[tuple[Figures, ...]]
) -> Iterator[Band]:
    """How far the lines may lie lower or higher: by ranges and room, else by what is not told but has an end."""
    lead = lead_of(report.figures, report.verdicts)
    for column in columns:
        band = report.band(column.figures)
        is_by_room = any(one.room_of == column.name for one in report.verdicts)
        if band and (not is_by_room or (lead and lead.name == column.name)):
            yield Band(band.low, band.high, _band_words(report, column))
            continue
        ends = [(one.told, one.at_least, one.at_most) for one in (_of(column.name, then) for then in months)]
        if any(None not in (low, high) and low != high for _, low, high in ends):
            lows = tuple(told if high is None or low is None else low for told, low, high in ends)
            highs = tuple(told if high is None or low is None else high for told, low, high in ends)
            yield Band(lows, highs, (f"band: what leaving {column.letter}", "early may come to"))


def _band_words(report: OffersReport, column: OfferColumn) -> tuple[str, str]:
    """What the band of an offer means, in two short lines."""
    rooms = [one for one in report.verdicts if one.room_of == column.name and one.room is not None]
    if not rooms:
        return f"band: {column.letter}", "within its ranges"
    room = min(rooms, key=lambda one: one.room or 0)
    if room.is_fetch:
        return f"band: {column.letter}’s car fetches", f"nothing to {wording.pounds(room.room or 0)}"
    parts = [part for part in column.figures.not_told if part not in (*room.if_same, "value")]
    words = wording.untold(parts) if len(parts) == 1 else f"{len(parts)} untold costs"
    if not wording.are_monthly(parts):
        return f"band: {column.letter}’s {words},", f"nothing to {wording.pounds(room.room or 0)}"
    monthly = (room.room or 0) // column.figures.months // 100
    return f"band: {column.letter}’s {words},", f"nothing to £{monthly:,} a month"


def _rows(lines: Sequence[OfferLine]) -> list[TableRow]:
    """What each offer has cost, by each half-year and at the months in which a line leaps."""
    last = len(lines[0].pence)
    leaps = {month for line in lines for jump in line.jumps for month in (jump - 1, jump)}
    return [
        TableRow(f"Month {month}", [_so_far(line, month) for line in lines])
        for month in sorted({1, last, *range(6, last, 6), *leaps})
    ]


def _so_far(line: OfferLine, month: int) -> TableCell:
    return TableCell(wording.figure(line.pence[month - 1]), "not all told" if month in line.open_months else "")
