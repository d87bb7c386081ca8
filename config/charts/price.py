"""What a litre or a kWh cost at each fill, over time."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from config.charts.marks import Drawing, Frame, Mark, Stroke, Words
from config.charts.over_time import Plot, month_names, told


class Paid(NamedTuple):
    """What one litre or kWh cost on a day, in tenths of a penny."""

    on: date
    tenths: int

    @property
    def told(self) -> str:
        """As pumps show it: 139.7p."""
        return f"{told(10 * self.tenths, 1)}p"


@dataclass(frozen=True)
class PricePaid:
    """At least one price, oldest first."""

    title: str
    prices: tuple[Paid, ...]

    @property
    def description(self) -> str:
        ordered = sorted(self.prices, key=lambda one: one.tenths)
        first, last = month_names(self.prices[0].on, self.prices[-1].on)
        words = f"{len(ordered)} from {first} to {last}" if last else f"{len(ordered)} in {first}"
        return f"{words}, from {ordered[0].told} to {ordered[-1].told}, the last {self.prices[-1].told}."

    def draw(self, frame: Frame) -> Drawing:
        """The picture of them."""
        return Drawing(self.title, self.description, frame.width, Plot.height, tuple(self._marks(frame)))

    def _marks(self, frame: Frame) -> Iterator[Mark]:
        prices, name = [10 * one.tenths for one in self.prices], self.prices[-1].told
        plot = Plot(frame, [one.on for one in self.prices], prices, (name,))
        yield from plot.axis()
        yield Stroke("fuel", (plot.line(prices),), 2)
        yield from plot.dots(prices, "fuel")
        yield Words(plot.right + 10, plot.y(prices[-1]) + 4.5, name, is_bold=True)
