"""How often each offer is the cheapest of many draws, and where its totals lie: a table, a picture, and the ranges."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from config.charts.ranges import OfferRange, RangesOfOffers
from config.showing import percent
from costing.choosing.core.case import Case
from costing.choosing.core.chances import Odds
from costing.choosing.core.inputs import Place
from costing.choosing.pictures import wording
from costing.choosing.pictures.sentences import amount, thing


class OddsRow(NamedTuple):
    """One offer: its letter and name, how often it is the cheapest, and where four in five of its totals lie."""

    letter: str
    name: str
    share: str
    low: str
    high: str


def odds_rows(odds: Sequence[Odds], letters: Mapping[str, str]) -> list[OddsRow]:
    """A row for each offer, in the order of the document. Odds are never exact to the penny."""
    return [
        OddsRow(letters[one.name], one.name, share_words(one), wording.pounds(one.low), wording.pounds(one.high))
        for one in odds
    ]


def odds_chart(odds: Sequence[Odds], letters: Mapping[str, str]) -> RangesOfOffers:
    """Where four in five totals of each offer lie."""
    best = max(odds, key=lambda one: one.cheapest)
    ranges = tuple(OfferRange(letters[one.name], one.name, one.low, one.middle, one.high) for one in odds)
    return RangesOfOffers(f"{letters[best.name]} is the cheapest in {share_words(best)} of the draws", ranges)


def share_words(one: Odds) -> str:
    """How often an offer is the cheapest. Only exactly none is 0%, and only exactly all is 100%."""
    share = float(one.cheapest)
    if 0 < share < 0.005:
        return f"under {percent(1)}"
    if 0.995 <= share < 1:
        return f"over {percent(99)}"
    return percent(f"{share * 100:.0f}")


def ranges_in_words(case: Case, letters: Mapping[str, str]) -> Iterator[str]:
    """Each range that the draws come from."""
    for one in case.uncertain:
        place = Place(one.input, one.offer, one.at)
        years = len(one.spreads) > 1
        for year, spread in enumerate(one.spreads, start=1):
            low, likely, high = (amount(place, value) for value in spread)
            of_year = f" (year {year})" if years else ""
            yield f"{thing(place, letters)}{of_year}: from {low} to {high}, most likely {likely}"
