"""The chart of the odds: where four in five totals of each offer lie, in whole numbers for the template."""

from collections.abc import Sequence
from typing import NamedTuple

from costing.charts import WIDTH
from costing.core.offers.odds import Odds
from costing.offers.charts import label_of
from costing.offers.table import OfferColumn

_ROW = 48


class OddsBar(NamedTuple):
    """Where four in five totals of an offer lie, from ``low`` to ``high``, and the middle one."""

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


class OddsChart(NamedTuple):
    """The bars of all offers on one scale, from ``low`` to ``high``."""

    description: str
    bars: list[OddsBar]
    low: str
    high: str
    height: int
    width: int = WIDTH

    @property
    def foot(self) -> int:
        return self.height - 4


def odds_chart(columns: Sequence[OfferColumn], odds: Sequence[Odds]) -> OddsChart:
    """Draw where four in five totals of each offer lie."""
    by_name = {one.name: one for one in odds}
    low, high = min(one.low for one in odds), max(one.high for one in odds)
    wide = (high - low) or 1.0

    def x(pence: float) -> int:
        return 2 + int((WIDTH - 4) * (pence - low) / wide)

    bars = []
    for index, column in enumerate(columns):
        one = by_name[column.name]
        start, end = x(one.low), x(one.high)
        words = (label_of(column), share_words(one), _whole_pounds(one.low), _whole_pounds(one.high))
        bars.append(OddsBar(*words, start, max(2, end - start), x(one.middle), y=24 + index * _ROW))
    said = "; ".join(f"{bar.label} from {bar.low} to {bar.high}, cheapest in {bar.share}" for bar in bars)
    return OddsChart(f"{said}.", bars, _whole_pounds(low), _whole_pounds(high), height=len(bars) * _ROW + 22)


def share_words(one: Odds) -> str:
    """How often an offer is the cheapest. Only exactly none is 0 %, and only exactly all is 100 %."""
    if 0 < one.cheapest < 0.005:
        return "under 1 %"
    if 0.995 <= one.cheapest < 1:
        return "over 99 %"
    return f"{one.cheapest * 100:.0f} %"


def _whole_pounds(pence: float) -> str:
    """Whole pounds, because odds are never exact to the penny."""
    return f"{'−' if pence < 0 else ''}£{abs(pence) / 100:,.0f}"
