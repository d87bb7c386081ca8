"""The tread of a tyre as records for `config.charts`. The same figures are in words and in a table beside a drawing."""

from config.charts.tread import Limit, Reading, TreadNow, TreadOverMiles, Wheel
from fleet.core.tread import LEGAL_LEAST, PRACTICE_LEAST
from fleet.core.wear import TreadTrend, Wear

_LIMITS = (Limit(float(LEGAL_LEAST), "the law"), Limit(float(PRACTICE_LEAST), "common practice"))


def tread_now(title: str, wear: Wear) -> TreadNow | None:
    """The last reading's lowest depth against the limits; None if there is no reading."""
    if wear.latest is None:
        return None
    lowest = wear.latest.lowest
    if lowest < LEGAL_LEAST:
        finding = f"{lowest} mm, below what the law asks for"
    else:
        finding = f"{lowest} mm, {'below' if lowest < PRACTICE_LEAST else 'not below'} common practice"
    return TreadNow(f"{title}: {finding}", (Wheel(title, float(lowest)),), _LIMITS)


def tread_over_miles(title: str, wear: Wear) -> TreadOverMiles | None:
    """The readings whose miles are known; None unless they are at two different mileages."""
    readings = tuple(Reading(point.miles, float(point.depth.lowest)) for point in wear.points)
    if len({reading.miles for reading in readings}) < 2:
        return None
    fitted = None
    if wear.line:
        first, last = readings[0].miles, max(readings[-1].miles, wear.miles_now or 0)
        fitted = (_on(wear.line, first), _on(wear.line, min(last, _miles_at_nothing(wear.line))))
    worn = "wears as the line falls" if fitted else "has no line of wear yet"
    return TreadOverMiles(f"{title}: {worn}", readings, fitted, _LIMITS)


def _on(line: TreadTrend, miles: int) -> Reading:
    return Reading(miles, max(0.0, float(line.at(miles))))


def _miles_at_nothing(line: TreadTrend) -> int:
    return int(-line.start // line.slope)
