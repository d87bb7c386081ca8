"""The picture of the odds: where four fifths of each offer's totals lie, as plain whole numbers for the template."""

from collections.abc import Sequence
from typing import NamedTuple

from costing.charts import WIDTH
from costing.core.offers.odds import Odds
from costing.offers.charts import label_of
from costing.offers.sides import Side

_ROW = 48


class Spread(NamedTuple):
    """Where four fifths of an offer's totals lie, from ``low`` to ``high``, and the middle one, as places and words."""

    label: str
    share: str
    low: str
    high: str
    x: int
    width: int
    middle: int
    y: int

    @property
    def text_y(self) -> int:
        return self.y - 6

    @property
    def end(self) -> int:
        return self.y + 18


class SpreadChart(NamedTuple):
    """The ranges of all offers to one scale, from ``low`` to ``high``."""

    description: str
    spreads: list[Spread]
    low: str
    high: str
    height: int
    width: int = WIDTH

    @property
    def foot(self) -> int:
        return self.height - 4


def spread_chart(sides: Sequence[Side], odds: Sequence[Odds]) -> SpreadChart:
    """Where four fifths of each offer's totals lie."""
    by_name = {one.name: one for one in odds}
    low, high = min(one.low for one in odds), max(one.high for one in odds)
    wide = (high - low) or 1.0

    def x(pence: float) -> int:
        return 2 + int((WIDTH - 4) * (pence - low) / wide)

    spreads = []
    for index, side in enumerate(sides):
        one = by_name[side.name]
        start, end = x(one.low), x(one.high)
        words = (label_of(side), share(one), _whole(one.low), _whole(one.high))
        spreads.append(Spread(*words, start, max(2, end - start), x(one.middle), y=24 + index * _ROW))
    said = "; ".join(f"{one.label} from {one.low} to {one.high}, cheapest in {one.share}" for one in spreads)
    return SpreadChart(f"{said}.", spreads, _whole(low), _whole(high), height=len(spreads) * _ROW + 22)


def share(one: Odds) -> str:
    """In how many of the draws an offer is cheapest; what is not quite none or all is not called so."""
    if 0 < one.cheapest < 0.005:
        return "under 1 %"
    if 0.995 <= one.cheapest < 1:
        return "over 99 %"
    return f"{one.cheapest * 100:.0f} %"


def _whole(pence: float) -> str:
    """Odds are not to the penny: whole pounds."""
    return f"{'−' if pence < 0 else ''}£{abs(pence) / 100:,.0f}"
