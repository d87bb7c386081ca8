"""Economy from brim to brim: a dot for each, the running mean as a line, and the band in which it usually lies."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from config.charts.marks import Area, Drawing, Frame, Mark, Stroke, Words
from config.charts.over_time import Plot, month_names, told
from config.charts.scales import spread

_BAND_NAME = "usual band"


class Brim(NamedTuple):
    """What the miles up to one brim gave, and the running mean there, in hundredths of a mile on a gallon or kWh."""

    on: date
    figure: int
    mean: int


@dataclass(frozen=True)
class Brims:
    """At least one brim, oldest first; ``usual`` is from where to where they usually lie, if that is known."""

    title: str
    brims: tuple[Brim, ...]
    usual: tuple[int, int] | None = None

    @property
    def description(self) -> str:
        figures = [brim.figure for brim in self.brims]
        first, last = month_names(self.brims[0].on, self.brims[-1].on)
        words = f"{len(figures)} from {first} to {last}" if last else f"{len(figures)} in {first}"
        words = f"{words}, the lowest {told(min(figures))}, the highest {told(max(figures))}"
        band = f" They usually lie from {told(self.usual[0])} to {told(self.usual[1])}." if self.usual else ""
        return f"{words}. The running mean ends at {told(self.brims[-1].mean)}.{band}"

    def draw(self, frame: Frame) -> Drawing:
        """The picture of them."""
        return Drawing(self.title, self.description, frame.width, Plot.height, tuple(self._marks(frame)))

    def _marks(self, frame: Frame) -> Iterator[Mark]:
        figures, means = [brim.figure for brim in self.brims], [brim.mean for brim in self.brims]
        mean = f"mean {told(means[-1])}"
        every = [*figures, *means, *(self.usual or ())]
        plot = Plot(frame, [brim.on for brim in self.brims], every, (mean, _BAND_NAME if self.usual else ""))
        yield from plot.axis()
        if self.usual:
            top, bottom = plot.y(self.usual[1]), plot.y(self.usual[0])
            corners = ((plot.left, top), (plot.right, top), (plot.right, bottom), (plot.left, bottom))
            yield Area("band", corners)
        yield Stroke("ink", (plot.line(means),), 2.5)
        yield from plot.dots(figures, "fuel")
        yield from self._names(plot, mean)

    def _names(self, plot: Plot, mean: str) -> Iterator[Mark]:
        """The names beside what they name, the mean in bold."""
        wanted = [(plot.y(self.brims[-1].mean), mean)]
        if self.usual:
            wanted.append(((plot.y(self.usual[0]) + plot.y(self.usual[1])) / 2, _BAND_NAME))
        wanted.sort()
        places = spread([y for y, _ in wanted], 16, 10, Plot.height - 24)
        for (_, words), y in zip(wanted, places, strict=True):
            is_mean = words == mean
            yield Words(plot.right + 10, y + 4.5, words, "ink" if is_mean else "quiet", is_bold=is_mean)
