"""How much of a lesson hour goes to the car: a dial of sixty strokes, of which those minutes are filled."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, cos, pi, sin

from config.charts.marks import Area, Disc, Drawing, Frame, Mark, Point, Stroke
from config.charts.over_time import told

_SIZE = 88
_MIDDLE = _SIZE / 2
_HOUR = 60


@dataclass(frozen=True)
class LessonHourDial:
    """The ``tenths`` of a minute that go to the car, from nothing on; more than an hour fills the dial.

    It is as large on a phone as on paper: a sign beside the figure that it explains.
    """

    title: str
    tenths: int

    @property
    def description(self) -> str:
        return f"{told(10 * self.tenths, 1)} of {_HOUR} minutes."

    @property
    def minutes(self) -> float:
        """The minutes that are filled."""
        return min(self.tenths / 10, _HOUR)

    def draw(self, _: Frame) -> Drawing:
        """The picture of it."""
        return Drawing(self.title, self.description, _SIZE, _SIZE, tuple(self._marks()))

    def _marks(self) -> Iterator[Mark]:
        filled = ceil(self.minutes)
        if filled < _HOUR:
            yield Stroke("quiet", tuple(_stroke(minute, 38) for minute in range(filled, _HOUR)), 1)
        if filled:
            yield Stroke("accent", tuple(_stroke(minute, 35) for minute in range(filled)), 2.5)
            yield Stroke("accent", (_arc(self.minutes, 42),), 3)
            yield Area("accent", ((_MIDDLE, _MIDDLE), *_arc(self.minutes, 27)))
        yield Disc(_MIDDLE, _MIDDLE, 3.5, "ink")


def _at(minutes: float, radius: float) -> Point:
    """A point of the dial, from twelve o'clock on."""
    turn = 2 * pi * minutes / _HOUR
    return round(_MIDDLE + radius * sin(turn), 1), round(_MIDDLE - radius * cos(turn), 1)


def _stroke(minute: int, inner: float) -> tuple[Point, ...]:
    return _at(minute, inner), _at(minute, 43)


def _arc(minutes: float, radius: float) -> tuple[Point, ...]:
    """A part of a circle, a point for each minute."""
    return tuple(_at(minute, radius) for minute in [*range(ceil(minutes)), minutes])
