"""Where the totals of each offer lie if figures turn out differently: a band an offer, all on one scale."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from config.charts.marks import Area, Disc, Drawing, Frame, Mark, OfferMark, Stroke, Words
from config.charts.paints import offer_paint
from config.charts.scales import short_money
from config.charts.text import width_of

_LEFT, _ROW, _BAND, _MARK = 30.0, 44.0, 20.0, 20


class OfferRange(NamedTuple):
    """One offer: where its totals lie, in pence, and the middle one."""

    letter: str
    name: str
    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class RangesOfOffers:
    """The ranges of all offers in the order given, at least one of them. The scale need not begin at nought."""

    title: str
    ranges: tuple[OfferRange, ...]

    @property
    def description(self) -> str:
        return " ".join(
            f"{one.letter}, {one.name}: from {short_money(one.low)} to {short_money(one.high)}, "
            f"the middle {short_money(one.middle)}."
            for one in self.ranges
        )

    def draw(self, frame: Frame) -> Drawing:
        """The picture of them."""
        marks = tuple(mark for index, one in enumerate(self.ranges) for mark in self._row(one, index * _ROW, frame))
        return Drawing(self.title, self.description, frame.width, _ROW * len(self.ranges), marks)

    def _x(self, pence: float, frame: Frame) -> float:
        low, high = min(one.low for one in self.ranges), max(one.high for one in self.ranges)
        return _LEFT + 5 + (frame.width - _LEFT - 10) * (pence - low) / ((high - low) or 1)

    def _row(self, one: OfferRange, y: float, frame: Frame) -> Iterator[Mark]:
        yield OfferMark(_MARK / 2, y + 1 + _BAND / 2, _MARK, one.letter)
        left, right = self._x(one.low, frame), self._x(one.high, frame)
        left, right = (left, right) if right - left >= 2 else (left - 1, left + 1)
        top, bottom = y + 1, y + 1 + _BAND
        yield Area("band", ((left, top), (right, top), (right, bottom), (left, bottom)))
        yield Stroke(offer_paint(one.letter), (((left, top), (left, bottom)), ((right, top), (right, bottom))), 2)
        yield Disc(self._x(one.middle, frame), y + 1 + _BAND / 2, 4.5, "card", offer_paint(one.letter), 2.5)
        yield from _ends(one, left, right, bottom + 15, frame)


def _ends(one: OfferRange, left: float, right: float, y: float, frame: Frame) -> Iterator[Words]:
    """The lowest and the highest below the ends of the band, beside each other if it is short."""
    low, high = short_money(one.low), short_money(one.high)
    long = width_of(low), width_of(high)
    if low == high:
        yield Words(min(max(_LEFT, left - long[0] / 2), frame.width - long[0]), y, low, "quiet")
        return
    at = min(max(_LEFT, left - long[0] / 2), frame.width - long[0] - long[1] - 10)
    end = max(min(right - long[1] / 2, frame.width - long[1]), at + long[0] + 10)
    yield Words(at, y, low, "quiet")
    yield Words(end, y, high, "quiet")
