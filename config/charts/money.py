"""Where the money of each offer goes: one bar an offer, all on one scale, with an open box for what is not told."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from config.charts.marks import Box, Drawing, Frame, Mark, OfferMark, Point, Stroke, Words
from config.charts.paints import offer_paint
from config.charts.pound import Part, bar_of, laid_out
from config.charts.scales import short_money
from config.charts.text import width_of
from config.showing import pence_as_pounds

_MARK, _LEFT = 20, 30
_BAR, _ROW = 26, 66


class OfferBar(NamedTuple):
    """One offer: its letter and name, its parts in the order of the tones, and what it does not tell, in a word."""

    letter: str
    name: str
    parts: tuple[Part, ...]
    untold: str = ""

    @property
    def total(self) -> int:
        return sum(part.pence for part in self.parts)

    @property
    def total_words(self) -> str:
        return short_money(self.total) + (f" and {self.untold}" if self.untold else "")

    @property
    def length(self) -> int:
        """What its bar stands for, in pence: all parts above nought."""
        return sum(max(0, part.pence) for part in self.parts)


@dataclass(frozen=True)
class MoneyOfOffers:
    """The bars of all offers, in the order given."""

    title: str
    bars: tuple[OfferBar, ...]

    @property
    def description(self) -> str:
        """Each offer's parts to the penny, those below nought too, which are not drawn."""
        return " ".join(
            f"{bar.letter}, {bar.name}: "
            + ", ".join(f"{part.words} {pence_as_pounds(part.pence)}" for part in bar.parts if part.pence)
            + (f"; {bar.untold} not told." if bar.untold else ".")
            for bar in self.bars
        )

    def draw(self, frame: Frame) -> Drawing:
        """The picture of them."""
        marks = tuple(mark for index, bar in enumerate(self.bars) for mark in self._row(bar, index * _ROW, frame))
        return Drawing(self.title, self.description, frame.width, _ROW * len(self.bars), marks)

    def _scale(self, frame: Frame) -> float:
        """Units a penny, so that the longest bar fills the picture, with its open box if it has one."""
        room = frame.width - _LEFT
        scales = [(room - (_untold(frame) if bar.untold else 0)) / bar.length for bar in self.bars if bar.length]
        return min(scales, default=0)

    def _row(self, bar: OfferBar, y: float, frame: Frame) -> Iterator[Mark]:
        yield OfferMark(_MARK / 2, y + 1 + _BAR / 2, _MARK, bar.letter)
        places = laid_out(bar.parts, Box(_LEFT, y + 1, frame.width - _LEFT, _BAR), self._scale(frame))
        yield from bar_of(places)
        end = places[-1][1].right if places else _LEFT
        if bar.untold:
            yield Stroke(offer_paint(bar.letter), (_open_box(end, y + 1, _untold(frame)),), 2, "4 3")
            end += _untold(frame)
        total = self._total(bar, end, y, frame)
        yield total
        for part, box in places:
            if max(width_of(part.words), width_of(short_money(part.pence))) > box.width:
                continue
            named = (
                Words(box.x, y + _BAR + 16, part.words),
                Words(box.x, y + _BAR + 31, short_money(part.pence), "quiet"),
            )
            if not any(words.box.meets(total.box, 4) for words in named):
                yield from named

    def _total(self, bar: OfferBar, end: float, y: float, frame: Frame) -> Words:
        """The sum beside the bar, or below its end where there is no room beside it."""
        if end + 8 + width_of(bar.total_words, is_bold=True) <= frame.width:
            return Words(end + 8, y + 1 + _BAR / 2 + 4.5, bar.total_words, is_bold=True)
        return Words(frame.width, y + _BAR + 16, bar.total_words, anchor="end", is_bold=True)


def _untold(frame: Frame) -> int:
    """How wide the open box is: enough to be seen, and no sum."""
    return 30 if frame.is_narrow else 60


def _open_box(x: float, y: float, width: float) -> tuple[Point, ...]:
    left, right, top, bottom = x + 2, x + width - 1, y + 1, y + _BAR - 1
    return ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
