"""The table of the odds: how often each offer is the cheapest, and where four in five of its totals lie."""

from collections.abc import Sequence
from typing import NamedTuple

from costing.choosing.core.odds import Odds
from costing.choosing.pictures.table import OfferColumn


class OddsRow(NamedTuple):
    """One offer: its letter and name, how often it is the cheapest, and where four in five of its totals lie."""

    letter: str
    name: str
    share: str
    low: str
    high: str


def odds_rows(columns: Sequence[OfferColumn], odds: Sequence[Odds]) -> list[OddsRow]:
    """A row for each offer, in the order of the columns."""
    by_name = {one.name: one for one in odds}
    return [
        OddsRow(column.letter, column.name, share_words(one), _whole_pounds(one.low), _whole_pounds(one.high))
        for column in columns
        for one in [by_name[column.name]]
    ]


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
