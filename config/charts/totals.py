"""What each offer has cost if one leaves then, month by month, with ranges and where one goes under another."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import NamedTuple

from config.charts.crossings import Crossing, CrossingWords, crossings, sentences
from config.charts.marks import Area, Box, Disc, Drawing, Frame, Mark, OfferMark, Point, Stroke, Words
from config.charts.paints import offer_paint
from config.charts.scales import axis_money, levels, short_money, spread
from config.charts.text import fitted, width_of
from config.look.tokens import OFFERS

DASHES = {offer.letter: "" if offer.dashes == "none" else offer.dashes for offer in OFFERS}
MARK = 20
_ROW = 17


class OfferLine(NamedTuple):
    """One offer: its letter, and what it has cost if one leaves in each month from month 1 on, in pence.

    In the months of ``open_months`` not all of it is told: the line is thin there, and no crossing is named. Before the
    months of ``jumps`` it leaps, because one leaves in another way from then on: nobody can leave in between.
    """

    letter: str
    name: str
    pence: tuple[int, ...]
    open_months: frozenset[int] = frozenset()
    jumps: frozenset[int] = frozenset()

    def pieces(self) -> Iterator[tuple[range, bool]]:
        """The months of each piece without a leap, cut where the line turns thin; and whether it is told there."""
        start = 1
        for month in range(2, len(self.pence) + 2):
            is_over = month > len(self.pence) or month in self.jumps
            is_turned = (month in self.open_months) != (start in self.open_months)
            if is_over or is_turned:
                # A piece that turns thin reaches to where the thin one begins.
                yield range(start, month + (not is_over)), start not in self.open_months
                start = month


class Band(NamedTuple):
    """A range around an offer's line, by month from month 1 on, and what it means in at most two short lines."""

    low: tuple[int, ...]
    high: tuple[int, ...]
    words: tuple[str, ...]


@dataclass(frozen=True)
class RunningTotals:
    """The lines of all offers over the same months, at least one of them."""

    title: str
    lines: tuple[OfferLine, ...]
    bands: tuple[Band, ...] = ()

    def draw(self, frame: Frame) -> Drawing:
        """The picture of them."""
        return _Layout(self, frame).drawing()

    @property
    def description(self) -> str:
        """Where each line ends, and where two cross."""
        months = len(self.lines[0].pence)
        ends = "; ".join(f"{line.letter}, {line.name}, ends at {_last(line)}" for line in self.lines)
        crossed = "".join(f" M{crossing.words[1:]}." for crossing in crossings(self.lines))
        return f"Leaving in month 1 to {months}: {ends}.{crossed}"


def _last(line: OfferLine) -> str:
    is_open = len(line.pence) in line.open_months
    return short_money(line.pence[-1]) + (" of what is told" if is_open else "")


class _Layout:
    """Where everything of one picture lies."""

    def __init__(self, what: RunningTotals, frame: Frame) -> None:
        self.what, self.frame = what, frame
        self.months = len(what.lines[0].pence)
        every = [
            *(pence for line in what.lines for pence in line.pence),
            *(pence for band in what.bands for pence in (*band.low, *band.high)),
        ]
        self.low, self.high = min(0, *every), max(1, *every)
        self.levels = levels(self.low, self.high, smallest=100)
        self.left = max((width_of(axis_money(level)) for level in self.levels), default=0) + 6
        ends = max(width_of(short_money(line.pence[-1]), is_bold=True) for line in what.lines)
        self.right = frame.width - ends - MARK - 16
        self.crossings = crossings(what.lines)
        self.top = 12.0 + _ROW * len(self.crossings) + (4 if self.crossings else 0)
        needed = (MARK + 2) * len(what.lines)
        self.bottom = max((236 if frame.is_narrow else 330), self.top + needed)
        self.named = self._named_bands()
        unnamed = len(what.bands) - sum(bool(marks) for marks in self.named)
        self.height = self.bottom + 24 + 17 * unnamed

    def x(self, month: float) -> float:
        return self.left + (self.right - self.left) * (month - 1) / max(1, self.months - 1)

    def y(self, pence: float) -> float:
        return self.bottom - (self.bottom - self.top) * (pence - self.low) / (self.high - self.low)

    def points(self, pence: tuple[int, ...], months: range | None = None) -> tuple[Point, ...]:
        return tuple((self.x(month), self.y(pence[month - 1])) for month in months or range(1, len(pence) + 1))

    def drawing(self) -> Drawing:
        marks = (*self._axis(), *self._bands(), *self._lines(), *self._crossed(), *self._ends())
        return Drawing(self.what.title, self.what.description, self.frame.width, self.height, marks)

    def _axis(self) -> Iterator[Mark]:
        for level in self.levels:
            y = self.y(level)
            yield Stroke("grid", (((self.left, y), (self.right, y)),))
            yield Words(0, y + 4.5, axis_money(level), "quiet")
        yield Stroke("ink", (((self.left, self.y(0)), (self.right, self.y(0))),), 2)
        yield Words(self.left, self.bottom + 18, "month 1", "quiet")
        for month in self._ticks():
            anchor = "end" if month == self.months else "middle"
            yield Words(self.x(month), self.bottom + 18, str(month), "quiet", anchor)

    def _ticks(self) -> list[int]:
        """Round months with room between them, and the last."""
        step = next((step for step in (1, 2, 3, 6, 12, 24, 36) if self.months / step <= 4), 60)
        apart = width_of("000") + 6
        start = self.left + width_of("month 1") + apart / 2
        inner = [
            month
            for month in range(step, self.months, step)
            if self.x(month) > start and self.x(self.months) - self.x(month) > apart
        ]
        return [*inner, self.months] if self.months > 1 else []

    def _bands(self) -> Iterator[Mark]:
        for band in self.what.bands:
            yield Area("band", (*self.points(band.high), *reversed(self.points(band.low))))
        y = self.bottom + 18
        for band, marks in zip(self.what.bands, self.named, strict=True):
            if marks:
                yield from marks
            else:
                y += 17
                yield Words(0, y, fitted(" ".join(band.words), self.frame.width), "quiet")

    def _named_bands(self) -> list[list[Mark]]:
        """For each band its words with a stroke to it, inside the picture; empty where there is no room."""
        found: list[list[Mark]] = []
        taken = [sentence.hairline for sentence in self._sentences]
        for band in self.what.bands:
            found.append(self._band_words(band, taken))
            taken += [mark.box for mark in found[-1] if isinstance(mark, Words)]
        return found

    def _band_words(self, band: Band, taken: list[Box]) -> list[Mark]:
        """What the band means, below or above all lines, clear of what is ``taken``."""
        half = max(width_of(words) for words in band.words) / 2
        room = 16 * len(band.words)
        for at, is_below in product((0.7, 0.6, 0.8, 0.5, 0.4, 0.3), (True, False)):
            month = max(1, round(at * self.months))
            x = min(max(self.x(month), self.left + half), self.right - half)
            spans = [self.y(pence) for pence in self._between(x - half - 6, x + half + 6)]
            first = max(spans) + 26 if is_below else min(spans) - 2 - room
            words = [Words(x, first + 16 * index, line, anchor="middle") for index, line in enumerate(band.words)]
            lowest = first + room - 12
            is_free = first - 12 >= self.top and lowest <= self.y(0) - 4
            if is_free and not any(one.box.meets(other, 4) for one in words for other in taken):
                end = self.x(month), self.y((band.low[month - 1] + band.high[month - 1]) / 2)
                return [Stroke("ink", (((x, first - 13 if is_below else lowest + 1), end),)), *words]
        return []

    def _between(self, left: float, right: float) -> list[int]:
        """All that is drawn from left to right, in pence."""
        step = (self.right - self.left) / max(1, self.months - 1)
        months = [month for month in range(1, self.months + 1) if left - step <= self.x(month) <= right + step]
        rows = [line.pence for line in self.what.lines]
        rows += [row for band in self.what.bands for row in (band.low, band.high)]
        return [row[month - 1] for row in rows for month in months]

    def _lines(self) -> Iterator[Mark]:
        for line in self.what.lines:
            dashes, paint = DASHES[line.letter], offer_paint(line.letter)
            leaps = tuple(self.points(line.pence, range(month - 1, month + 1)) for month in sorted(line.jumps))
            if leaps:
                yield Stroke(paint, leaps, 1)
            for is_told, width in ((False, 1.5), (True, 3)):
                drawn = tuple(self.points(line.pence, months) for months, told in line.pieces() if told is is_told)
                if drawn:
                    yield Stroke(paint, drawn, width, dashes, dashes.startswith("1 "))

    @cached_property
    def _sentences(self) -> list[CrossingWords]:
        places = [(crossing, self._at(crossing)) for crossing in self.crossings]
        return sentences(places, self.frame.width, _ROW)

    def _at(self, crossing: Crossing) -> Point:
        return self.x(crossing.at), self.y(crossing.pence)

    def _crossed(self) -> Iterator[Mark]:
        for sentence in self._sentences:
            yield Stroke("ink", ((sentence.start, sentence.ring),), 1.5)
            yield Disc(*sentence.ring, 4.5, "card", "ink", 2)
            yield sentence.words

    def _ends(self) -> Iterator[Mark]:
        ends = sorted((self.y(line.pence[-1]), line.letter, line.pence[-1]) for line in self.what.lines)
        places = spread([y for y, *_ in ends], MARK + 2, max(self.top, MARK / 2), self.bottom)
        x = self.right + 6 + MARK / 2
        for (at, letter, pence), y in zip(ends, places, strict=True):
            if abs(at - y) > 2:
                yield Stroke(offer_paint(letter), (((self.right, at), (x, y)),), 1.5)
            yield OfferMark(x, y, MARK, letter)
            yield Words(self.frame.width, y + 4.5, short_money(pence), anchor="end", is_bold=True)
