"""The tyres as drawings of `config.charts`: how deep they are now, and how each has worn over the miles."""

from collections.abc import Sequence

from config.charts.tread import Limit, Reading, TreadNow, TreadOverMiles, Wheel
from fleet.core.tread import LEGAL_LEAST, PRACTICE_LEAST
from fleet.core.wear import TreadTrend, Wear

_LIMITS = (Limit(float(LEGAL_LEAST), "the law"), Limit(float(PRACTICE_LEAST), "common practice"))


def tread_now(tyres: Sequence[tuple[str, Wear]]) -> TreadNow | None:
    """The least depth of each tyre, named by its wheel; None if none was ever read."""
    read = [(name, wear.latest.lowest) for name, wear in tyres if wear.latest]
    if not read:
        return None
    least = min(depth for _, depth in read)
    lowest = [name.lower() for name, depth in read if depth == least]
    words = "all four" if len(lowest) == len(tyres) else _joined(lowest)
    wheels = [Wheel(name, float(wear.latest.lowest) if wear.latest else None) for name, wear in tyres]
    return TreadNow(f"Lowest: {words}, {least} mm", tuple(wheels), _LIMITS)


def _joined(wheels: Sequence[str]) -> str:
    """Wheels as one would say them: front left, front right and rear left."""
    return " and ".join(part for part in (", ".join(wheels[:-1]), wheels[-1]) if part)


def tread_over_miles(name: str, wear: Wear) -> TreadOverMiles | None:
    """The readings whose miles are known; None unless they are at two different mileages."""
    if len({point.miles for point in wear.points}) < 2:
        return None
    readings = tuple(Reading(point.miles, float(point.depth.lowest)) for point in wear.points)
    fitted = _fitted(wear)
    worn = "wears as the line falls" if fitted else "has no line of wear yet"
    return TreadOverMiles(f"{name}: {worn}", readings, fitted, _LIMITS)


def _fitted(wear: Wear) -> tuple[Reading, Reading] | None:
    """The ends of the fitted line: from the first reading to today, or to where no tread is left."""
    line, first = wear.line, wear.points[0].miles
    if line is None:
        return None
    last = max(wear.points[-1].miles, wear.miles_now or 0)
    return _on(line, first), _on(line, min(last, int(-line.start // line.slope)))


def _on(line: TreadTrend, miles: int) -> Reading:
    return Reading(miles, max(0.0, float(line.at(miles))))
