"""What a litre or a kWh cost at each fill, over time."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from config.charts.marks import Drawing, Frame, Mark, Stroke, Words
from config.charts.over_time import Plot, month_names, told


class Paid(NamedTuple):
    """What one litre or kWh cost on a day, in hundredths of a penny."""

    on: date
    price: int


@dataclass(frozen=True)
class PricePaid:
    """At least one price, oldest first."""

    title: str
    prices: tuple[Paid, ...]

    @property
    def description(self) -> str:
        prices = [one.price for one in self.prices]
        first, last = month_names(self.prices[0].on, self.prices[-1].on)
        words = f"{len(prices)} fills from {first} to {last}" if last else f"{len(prices)} in {first}"
        return f"{words}, from {told(min(prices))}p to {told(max(prices))}p, the last {told(prices[-1])}p."

    def draw(self, frame: Frame) -> Drawing:
        """The picture of them."""
        return Drawing(self.title, self.description, frame.width, Plot.height, tuple(self._marks(frame)))

    def _marks(self, frame: Frame) -> Iterator[Mark]:
        prices = [one.price for one in self.prices]
        name = f"{told(prices[-1])}p"
        plot = Plot(frame, [one.on for one in self.prices], prices, (name,))
        yield from plot.axis()
        yield Stroke("fuel", (plot.line(prices),), 2)
        yield from plot.dots(prices, "fuel")
        yield Words(plot.right + 10, plot.y(prices[-1]) + 4.5, name, is_bold=True)
