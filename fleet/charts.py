"""The geometry of the pictures of tyres, as plain numbers for the templates that write SVG.

Numbers are whole units of the picture, so that no local way of writing decimals can get into the SVG. A picture
never stands alone: the same figures are in words and in a table beside it.
"""

import math
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from config.showing import whole
from fleet.core.tread import LEGAL_LEAST, PRACTICE_LEAST
from fleet.core.wear import TreadTrend, Wear

#: About a phone's width, so that the text comes out as large as the text around it.
WIDTH = 320
#: mm. Typical of a new car tyre: tests of wet braking took it as new (read in a secondary text).
_NEW = 8


class Mark(NamedTuple):
    """A limit in a picture: where it lies, and its words."""

    at: int
    words: str


class Gauge(NamedTuple):
    """How much tread there is, as a bar with both limits marked."""

    title: str
    description: str
    fill: int
    marks: tuple[Mark, ...]
    width: int = WIDTH


class WearChart(NamedTuple):
    """Readings over miles with the fitted line, and both limits across. ``line`` is x1, y1, x2, y2."""

    title: str
    description: str
    points: list[tuple[int, int]]
    line: tuple[int, int, int, int] | None
    limits: tuple[Mark, ...]
    depths: list[Mark]
    miles: tuple[str, str]
    left: int = 26
    right: int = 314
    bottom: int = 170
    width: int = WIDTH
    height: int = 192


def gauge(title: str, wear: Wear) -> Gauge | None:
    """The last reading's lowest depth against the limits; None if there is no reading."""
    if wear.latest is None:
        return None
    lowest = wear.latest.lowest
    most = max(Decimal(_NEW), lowest)
    marks = tuple(Mark(int(WIDTH * least / most), f"{least}") for least in (LEGAL_LEAST, PRACTICE_LEAST))
    description = f"{lowest} mm; the law asks for {LEGAL_LEAST} mm, common practice for {PRACTICE_LEAST} mm."
    return Gauge(f"{title}: tread now", description, int(WIDTH * lowest / most), marks)


def wear_chart(title: str, wear: Wear) -> WearChart | None:
    """The readings whose miles are known; None unless they are at two different mileages."""
    miles = [point.miles for point in wear.points]
    if len(set(miles)) < 2:
        return None
    first, last = miles[0], max(miles[-1], wear.miles_now or 0)
    most = max(_NEW, math.ceil(max(point.depth.lowest for point in wear.points)))
    frame = WearChart("", "", [], None, (), [], (whole(first), whole(last)))

    def x(at: int) -> int:
        return frame.left + (frame.right - frame.left) * (at - first) // (last - first)

    def y(depth: Decimal | Fraction | int) -> int:
        return frame.bottom - int((frame.bottom - 12) * Fraction(depth) / most)

    line = None
    if wear.line:
        end = min(last, _miles_at_nothing(wear.line))
        line = (x(first), y(wear.line.at(first)), x(end), y(wear.line.at(end)))
    return frame._replace(
        title=f"{title}: tread over miles",
        description=_described(wear),
        points=[(x(point.miles), y(point.depth.lowest)) for point in wear.points],
        line=line,
        limits=tuple(Mark(y(least), f"{least} {why}") for least, why in _LIMITS),
        depths=[Mark(y(depth), str(depth)) for depth in range(0, most + 1, 2)],
    )


_LIMITS = ((LEGAL_LEAST, "the law"), (PRACTICE_LEAST, "common practice"))


def _miles_at_nothing(line: TreadTrend) -> int:
    return int(-line.start // line.slope)


def _described(wear: Wear) -> str:
    read = ", ".join(f"{point.depth.lowest} mm at {whole(point.miles)} miles" for point in wear.points)
    limits = " and ".join(f"{least} mm, {why}" for least, why in _LIMITS)
    fitted = "The line through them falls" if wear.line else "No line falls through them"
    return f"{read}. {fitted}. Marked: {limits}."
