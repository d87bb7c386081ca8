"""Whether a tyre can have the tread that was typed: it never grows, and falls only so far in so many miles.

Depths are whole tenths of a mm. A tyre is typed as three depths across it, or as the lowest alone.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from fleet.core.odometer import NoForecast, Odometer, pace_of
from fleet.core.plausible.checks import FAR, Candidate, Check, weigh
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.odometer import days_between
from fleet.core.plausible.slips import POINT, as_text, undone
from fleet.core.tread import Depth, Move, latest_depths
from fleet.core.wear import GAUGE_ERROR

ACROSS = ("inner", "centre", "outer")
#: Tenths of a mm. A car's tyre is new with about 8 mm, a winter tyre with 9; more than 15 no gauge for cars shows.
_DEEPEST, _MOST = 100, 150
#: By so much a gauge read by hand is out.
_GAUGE = int(10 * GAUGE_ERROR)
#: Where only the lowest was known, the rest of the tyre may have been so much deeper; and so uneven hardly any is.
_UNEVEN = 30
#: Tenths of a mm in 1,000 miles: a new tyre would be gone in 4,000. Common practice, no source.
_MOST_WORN = 20
#: Miles a day where nothing is known of the car: 55,000 a year. Common practice, no source.
_MOST_A_DAY = 150
#: Less than this on a tyre that nobody read before is rather a slip.
_BALD = 10


def limits(
    depths: Sequence[Depth], moves: Sequence[Move], odometer: Odometer, read_on: date, miles: int | None = None
) -> Limits:
    """What is known of the tyre now at each wheel: its last depths before a day, and the miles run since.

    ``miles`` is what the odometer shows on that day. Without it, the car is taken to have run at twice its pace.
    """
    before = [depth for depth in depths if depth.read_on < read_on]
    known = latest_depths(before, [move for move in moves if move.moved_on <= read_on])
    return {
        depth.wheel: {
            "on": depth.read_on.isoformat(),
            "depths": [_tenths(getattr(depth, part)) for part in ACROSS],
            "miles": _miles_since(depth.read_on, read_on, odometer, miles),
        }
        for depth in known
    }


def _tenths(depth: Decimal) -> int:
    return int(10 * depth)


def _miles_since(since: date, read_on: date, odometer: Odometer, miles: int | None) -> int:
    is_known = bool(odometer) and odometer.first_on <= since
    if is_known and miles is None and odometer.last_on >= read_on:
        miles = odometer.at(read_on)
    if is_known and miles is not None and since <= odometer.last_on:
        return max(0, miles - odometer.at(since))
    days, pace = days_between(since.isoformat(), read_on.isoformat()), pace_of(odometer)
    return _MOST_A_DAY * days if isinstance(pace, NoForecast) else 2 * pace.miles * days // pace.days


def doubts(wheel: str, typed: Mapping[str, int], limits: Limits) -> list[Doubt]:
    """What may be wrong with one tyre. ``typed`` has its depths by field (`field_of`): three, or the lowest."""
    return weigh(
        typed, lambda tried: list(_checks(wheel, tried, limits.get(wheel))), lambda: _candidates(typed), written
    )


def field_of(wheel: str, part: str) -> str:
    """The name of a depth's field."""
    return f"{wheel}_{part}"


def written(field: str, value: int | str | None) -> str:
    """A depth as it is typed: "5.4"."""
    return as_text(int(value or 0), 1)


def _checks(wheel: str, typed: Typed, last: Any) -> Iterator[Check]:
    names = [name for name in (field_of(wheel, part) for part in ACROSS) if name in typed]
    lowest = min(names, key=lambda name: int(typed[name]))
    middle = sorted(int(typed[name]) for name in names)[len(names) // 2]
    for name in names:
        depth = int(typed[name])
        figures = {"depth": 100 * depth}
        yield Check(*(name, "tread_impossible", depth, 0, 60, _MOST, (name,), figures), False)
        yield Check(name, "tread_deep", depth, 0, 60, _DEEPEST, (name,), figures)
        across = {**figures, "middle": 100 * middle}
        yield Check(name, "tread_across", depth, middle - _UNEVEN, middle, middle + _UNEVEN, tuple(names), across)
        if last is None:
            yield Check(name, "tread_bald", depth, _BALD, 60, FAR, (name,), figures)
        else:
            yield from _against_last(name, depth, last, is_lowest=name == lowest, is_alone=len(names) == 1)


def _against_last(name: str, depth: int, last: Any, *, is_lowest: bool, is_alone: bool) -> Iterator[Check]:
    by_part = dict(zip(ACROSS, last["depths"], strict=True))
    is_uneven = len(set(last["depths"])) > 1
    was = by_part[name.rpartition("_")[2]] if is_uneven and not is_alone else min(last["depths"])
    above = _GAUGE if is_lowest or is_uneven else _UNEVEN
    worn = _MOST_WORN * last["miles"] // 1_000
    figures = {
        **{"depth": 100 * depth, "last": 100 * was, "since": last["on"]},
        **{"worn": 100 * max(0, was - depth), "miles": last["miles"]},
    }
    expected = max(0, was - worn // 4)
    yield Check(name, "tread_grows", depth, -FAR, expected, was + above, (name,), figures)
    yield Check(name, "tread_falls", depth, was - 2 * _GAUGE - worn, expected, FAR, (name,), figures)


def _candidates(typed: Typed) -> Iterator[Candidate]:
    if len(typed) > 1:
        for slips in zip(*(_by_the_point(int(depth)) for depth in typed.values()), strict=True):
            yield Candidate(POINT, dict(zip(typed, slips, strict=True)))
    for name, depth in typed.items():
        for rank, value in undone(int(depth), 1):
            yield Candidate(rank, {name: value})


def _by_the_point(depth: int) -> tuple[int, int]:
    """A depth with the point one place to the left and to the right."""
    return depth // 10, depth * 10
