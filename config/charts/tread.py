"""Tread: how deep it is now against the law and common practice, and how it has worn over the miles."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from config.charts.marks import Bars, Box, Disc, Drawing, Frame, Mark, Stroke, Words
from config.charts.scales import spread
from config.charts.text import width_of
from config.showing import whole

#: mm. Typical of a new car tyre: tests of wet braking took it as new (read in a secondary text).
NEW = 8.0
_BAR, _ROW = 20.0, 30.0


class Limit(NamedTuple):
    """A depth in mm that matters, and whose it is: "the law"."""

    depth: float
    words: str

    @property
    def named(self) -> str:
        return f"{self.depth:.1f} {self.words}"


class Wheel(NamedTuple):
    """One tyre by its wheel: the least depth last read, in mm; None if it was never read."""

    words: str
    depth: float | None

    @property
    def told(self) -> str:
        return "not read" if self.depth is None else f"{self.depth:.1f} mm"


@dataclass(frozen=True)
class TreadNow:
    """The tyres below each other, with the limits as uprights through all of them."""

    title: str
    wheels: tuple[Wheel, ...]
    limits: tuple[Limit, Limit]

    @property
    def description(self) -> str:
        told = ", ".join(
            f"{one.words} {'not read' if one.depth is None else f'{one.depth:.1f} mm'}" for one in self.wheels
        )
        return f"{told}. Marked: {' and '.join(f'{limit.depth:.1f} mm, {limit.words}' for limit in self.limits)}."

    def draw(self, frame: Frame) -> Drawing:
        """The picture of them."""
        bottom = 4 + _ROW * len(self.wheels)
        return Drawing(self.title, self.description, frame.width, bottom + 40, tuple(self._marks(frame, bottom)))

    def _marks(self, frame: Frame, bottom: float) -> Iterator[Mark]:
        left = max(width_of(wheel.words) for wheel in self.wheels) + 10 if len(self.wheels) > 1 else 1.0
        right = frame.width - width_of("not read", is_bold=True) - 8
        deepest = max([NEW, *(wheel.depth for wheel in self.wheels if wheel.depth is not None)])
        scale = (right - left) / deepest
        for index, wheel in enumerate(self.wheels):
            y = 4 + index * _ROW + (_ROW - _BAR) / 2
            if left > 1:
                yield Words(0, y + _BAR / 2 + 4.5, wheel.words)
            yield _wheel(wheel, left, y, scale)
            yield Words(frame.width, y + _BAR / 2 + 4.5, wheel.told, anchor="end", is_bold=True)
        yield Stroke("ink", (((left, 2), (left, bottom)),), 2)
        # The deeper is named first, so that the other's upright passes at the left of its words.
        for index, limit in enumerate(sorted(self.limits, reverse=True)):
            x = left + limit.depth * scale
            y = bottom + 15 + 17 * index
            lines = (((x, 0.0), (x, y - 12)),)
            yield Stroke("card", lines, 5)
            yield Stroke("ink", lines, 2)
            yield Words(max(0.0, min(x, frame.width - width_of(limit.named))), y, limit.named)


def _wheel(wheel: Wheel, left: float, y: float, scale: float) -> Mark:
    """The tread as a bar; an open box if it was never read."""
    if wheel.depth is None:
        right = left + NEW * scale
        outline = ((left, y + 1), (right, y + 1), (right, y + _BAR - 1), (left, y + _BAR - 1))
        return Stroke("quiet", (outline,), 1.5, "3 3")
    return Bars("tyres", (Box(left, y, round(wheel.depth * scale, 1), _BAR),))


class Reading(NamedTuple):
    """What was read at an odometer: miles and mm."""

    miles: int
    depth: float


@dataclass(frozen=True)
class TreadOverMiles:
    """Readings at two different mileages or more, oldest first; ``fitted`` are the two ends of the line through them.

    ``limits`` are drawn across.
    """

    title: str
    readings: tuple[Reading, ...]
    fitted: tuple[Reading, Reading] | None
    limits: tuple[Limit, Limit]

    @property
    def description(self) -> str:
        """Each reading, and whether a line falls through them."""
        read = ", ".join(f"{one.depth:.1f} mm at {whole(one.miles)} miles" for one in self.readings)
        line = "The line through them falls" if self.fitted else "No line falls through them"
        return (
            f"{read}. {line}. Marked: {' and '.join(f'{limit.depth:.1f} mm, {limit.words}' for limit in self.limits)}."
        )

    def draw(self, frame: Frame) -> Drawing:
        """The picture of them."""
        return Drawing(self.title, self.description, frame.width, 200, tuple(self._marks(frame)))

    def _names(self, frame: Frame) -> float:
        """The room that the names of the limits take at the right."""
        return max(width_of(limit.words if frame.is_narrow else limit.named) for limit in self.limits)

    def _marks(self, frame: Frame) -> Iterator[Mark]:
        every = [*self.readings, *(self.fitted or ())]
        first, last = min(one.miles for one in every), max(one.miles for one in every)
        most = max(NEW, *(one.depth for one in every))
        left, right, top, bottom = 26.0, frame.width - self._names(frame) - 14, 12.0, 172.0

        def at(one: Reading) -> tuple[float, float]:
            across = left + 6 + (right - left - 6) * (one.miles - first) / ((last - first) or 1)
            return across, bottom - (bottom - top) * one.depth / most

        for depth in (4, 8):
            y = at(Reading(first, depth))[1]
            yield Stroke("grid", (((left, y), (right, y)),))
            yield Words(0, y + 4.5, str(depth), "quiet")
        heights = sorted((at(Reading(first, limit.depth))[1], limit) for limit in self.limits)
        lines = 2 if frame.is_narrow else 1
        places = spread([y for y, _ in heights], 15 * lines, top, bottom)
        for (y, limit), place in zip(heights, places, strict=True):
            yield Stroke("ink", (((left, y), (right, y)),), 1.5, "6 4")
            words = (f"{limit.depth:.1f} mm,", limit.words) if frame.is_narrow else (limit.named,)
            for line, told in enumerate(words):
                yield Words(right + 8, place + 4.5 + 14 * (line - (lines - 1) / 2), told)
        if self.fitted:
            yield Stroke("accent", ((at(self.fitted[0]), at(self.fitted[1])),), 2.5)
        for one in self.readings:
            yield Disc(*at(one), 4.5, "tyres", "card", 1.5)
        yield Stroke("ink", (((left, bottom), (right, bottom)),), 2)
        yield Words(left, 194, f"{whole(first)} miles", "quiet")
        yield Words(right, 194, whole(last), "quiet", "end")
