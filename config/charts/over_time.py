"""Figures over days, from the first to the last: an axis at the left that need not begin at nought, names at the right.

Figures are whole hundredths of what they are of, so that a dot lies where its figure is.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from config.charts.marks import Disc, Frame, Mark, Point, Stroke, Words
from config.charts.scales import levels
from config.charts.text import width_of

_HEIGHT, _TOP, _BOTTOM = 172.0, 12.0, 138.0
#: With more dots than this they are small.
_FEW = 30
#: Levels are whole tenths.
_TENTH = 10
#: Figures are flat if they differ by less than one part in so many.
_FLAT = 200


def told(hundredths: int, places: int = 2) -> str:
    """A figure with two places, 43.58; or with one, if it is whole tenths."""
    return f"{hundredths // 100:,}.{hundredths % 100:02}"[: places - 2 or None]


def month_names(first: date, last: date) -> tuple[str, str]:
    """The months in which figures begin and end, with their years if these differ; the second is empty if it is one."""
    if (first.year, first.month) == (last.year, last.month):
        return f"{first:%B %Y}", ""
    return (f"{first:%B}", f"{last:%B}") if first.year == last.year else (f"{first:%b %Y}", f"{last:%b %Y}")


class Plot:
    """Where days and figures lie. ``names`` are what stands at the right; ``days`` and ``figures`` are not empty."""

    height = _HEIGHT

    def __init__(self, frame: Frame, days: Sequence[date], figures: Iterable[int], names: Iterable[str]) -> None:
        self.days = days
        every = list(figures)
        apart = max(every) - min(every)
        # Flat figures lie in the middle of some room, so that a difference too small to matter does not look like one.
        room = max(_TENTH, min(every) // 10 if apart * _FLAT < max(every) else apart // 10)
        self.low, self.high = max(0, min(every) - room), max(every) + room
        self.levels = [level for level in levels(self.low, self.high, smallest=_TENTH) if level >= self.low]
        self.left = max((width_of(self._axis(level)) for level in self.levels), default=0) + 14
        self.right = frame.width - max((width_of(name, is_bold=True) for name in names), default=0) - 14

    @staticmethod
    def _axis(level: int) -> str:
        return f"{level / 100:,g}"

    def x(self, day: date) -> float:
        """How far across a day lies."""
        span = (self.days[-1] - self.days[0]).days
        return round(self.left + (self.right - self.left) * (day - self.days[0]).days / (span or 1), 1)

    def y(self, hundredths: int) -> float:
        """How far down a figure lies."""
        return round(_BOTTOM - (_BOTTOM - _TOP) * (hundredths - self.low) / (self.high - self.low), 1)

    def axis(self) -> Iterator[Mark]:
        """The hairlines with their figures, and the months at either end below."""
        for level in self.levels:
            yield Stroke("grid", (((self.left, self.y(level)), (self.right, self.y(level))),))
            yield Words(0, self.y(level) + 4.5, self._axis(level), "quiet")
        first, last = month_names(self.days[0], self.days[-1])
        yield Words(self.left, _HEIGHT - 6, first, "quiet")
        if last:
            yield Words(self.right, _HEIGHT - 6, last, "quiet", "end")

    def line(self, figures: Sequence[int]) -> tuple[Point, ...]:
        """The points of one figure for each day."""
        return tuple((self.x(day), self.y(one)) for day, one in zip(self.days, figures, strict=True))

    def dots(self, figures: Sequence[int], tone: str) -> Iterator[Mark]:
        """A dot for each day."""
        radius, edge = (4.5, 1.5) if len(figures) <= _FEW else (2.5, 0)
        for x, y in self.line(figures):
            yield Disc(x, y, radius, tone, "card", edge)
