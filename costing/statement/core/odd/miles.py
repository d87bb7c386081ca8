"""What an odometer shows that the entries do not explain: miles that no fill allows, and more than a car runs."""

from collections.abc import Iterator
from itertools import pairwise

from costing.core.economy import Stretch
from costing.core.records import Fill, Period, Unit
from costing.statement.core.odd.economy import usable
from costing.statement.core.odd.finding import Finding, Kind
from costing.statement.core.odd.looked import Looked
from fleet.core.plausible.odometer import LONG_DAY, MOST_A_DAY
from fleet.core.plausible.scatter import usual_range

#: Economy so many per cent better than in the middle is no good luck: most often a fill is not in the book.
_FAR_BETTER = 40
#: By so many per cent at least must a distance without a fill lie beyond the middle of the car's own.
_FAR_WITHOUT = 50


def jumps(looked: Looked) -> Iterator[Finding]:
    """Yield each pair of readings, of one time with the car, between which it ran further than any car does."""
    odometer = looked.use.odometer
    for time in looked.times:
        for before, after in pairwise(looked.readings(time)):
            miles, days = odometer.at(after) - odometer.at(before), (after - before).days
            if miles > LONG_DAY + MOST_A_DAY * days:
                rests_on = f"{before.isoformat()}:{after.isoformat()}"
                figures = {"miles": miles, "days": days}
                yield Finding(Kind.JUMP, "", rests_on, before, after, is_open=False, figures=figures)


def fills_not_logged(looked: Looked) -> Iterator[Finding]:
    """Yield each stretch from brim to brim that goes too far on its fuel, and many miles since the last fill."""
    for unit, found in looked.stretches():
        yield from _too_good(looked, unit, usable(found))
    yield from _none_since(looked)


def _too_good(looked: Looked, unit: Unit, found: list[Stretch]) -> Iterator[Finding]:
    economy = {one: 100_000 * one.miles // one.thousandths for one in found}
    usual = usual_range(economy.values(), floor_percent=_FAR_BETTER)
    if usual is None:
        return
    for one, value in economy.items():
        if value > usual.high:
            rests_on = f"{one.begins_on.isoformat()}:{one.ends_on.isoformat()}"
            figures = {
                "miles": one.miles,
                "thousandths": one.thousandths,
                "usual": one.thousandths * usual.middle // 100_000,
            }
            yield Finding(
                *(Kind.FILL, unit, rests_on, one.begins_on, one.ends_on),
                is_open=False,
                figures=figures,
                entry=_ends(looked, unit, one).key,
            )


def _ends(looked: Looked, unit: Unit, found: Stretch) -> Fill:
    """The fill with which a stretch ends."""
    return next(
        fill for fill in looked.use.fills if (fill.filled_on, fill.unit) == (found.ends_on, unit) and fill.brimmed
    )


def _none_since(looked: Looked) -> Iterator[Finding]:
    if looked.now is None:
        return
    fills, read = looked.fills(looked.now), looked.readings(looked.now)
    between = _distances(fills)
    usual = usual_range(between, floor_percent=_FAR_WITHOUT)
    if usual is None or fills[-1].is_anothers:
        return
    last = fills[-1]
    miles = looked.use.odometer.at(read[-1]) - last.odometer
    if miles > max(usual.high, *between):
        days = Period(last.filled_on, read[-1])
        figures = {"miles": miles, "usual": usual.middle, "most": max(between)}
        yield Finding(Kind.FILL, "", last.filled_on.isoformat(), *days, is_open=True, figures=figures)


def _distances(fills: list[Fill]) -> list[int]:
    """The miles between each two fills that follow on each other, none missing and both one's own."""
    return [
        after.odometer - before.odometer
        for before, after in pairwise(fills)
        if not (after.gap_before or before.is_anothers or after.is_anothers)
    ]
