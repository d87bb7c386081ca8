"""The months in which one offer's total goes under another's if one leaves then, and room for the sentences on it."""

from collections.abc import Iterator, Sequence
from itertools import combinations, permutations, product
from typing import TYPE_CHECKING, NamedTuple

from config.charts.marks import Box, Point, Words
from config.charts.text import width_of

if TYPE_CHECKING:
    from config.charts.totals import OfferLine

MOST_SENTENCES = 3


class Crossing(NamedTuple):
    """Where two lines cross: ``at`` months and ``pence``, and the month by which the lower has gone under."""

    at: float
    pence: float
    month: int
    lower: str
    other: str

    @property
    def words(self) -> str:
        return f"month {self.month}: {self.lower} goes under {self.other}"


class CrossingWords(NamedTuple):
    """The words of a crossing, the ring on the lines, and where its hairline begins."""

    words: Words
    ring: Point
    start: Point

    @property
    def hairline(self) -> Box:
        """The room of the upright from the words down to the ring."""
        return Box(self.ring[0] - 1, self.start[1], 2, max(0.0, self.ring[1] - self.start[1]))


def crossings(lines: Sequence["OfferLine"]) -> list[Crossing]:
    """The last crossing of each pair, by month; of more than three, those of the offer that ends the cheapest first."""
    cheapest = min(lines, key=lambda line: line.pence[-1]).letter
    found = [crossing for one, two in combinations(lines, 2) for crossing in list(_of_pair(one, two))[-1:]]
    found.sort(key=lambda crossing: (cheapest not in (crossing.lower, crossing.other), -crossing.at))
    return sorted(found[:MOST_SENTENCES], key=lambda crossing: crossing.at)


def _of_pair(one: "OfferLine", two: "OfferLine") -> Iterator[Crossing]:
    """Each month by which the order of two offers has turned, as far as both are told throughout."""
    was, a_before, b_before = 0, 0, 0
    for month, (a, b) in enumerate(zip(one.pence, two.pence, strict=True), start=1):
        is_open = month in one.open_months or month in two.open_months
        now = 0 if is_open else (a > b) - (a < b)
        if now and was and now != was:
            before = a_before - b_before
            share = abs(before) / (abs(before) + abs(a - b))
            lower, other = (one, two) if a < b else (two, one)
            pence = a_before + share * (a - a_before)
            yield Crossing(month - 1 + share, pence, month, lower.letter, other.letter)
        was, a_before, b_before = 0 if is_open else now or was, a, b


def sentences(places: Sequence[tuple[Crossing, Point]], width: float, row: float) -> list[CrossingWords]:
    """Each sentence in a row of its own at the top, so that no hairline runs through words.

    If there is no such order, it leaves out the last crossings until there is.
    """
    for count in range(len(places), 0, -1):
        rows = range(count)
        for order, sides in product(permutations(rows), product((1, 0), repeat=count)):
            found = [
                _sentence(crossing, ring, 12 + row * order[index], width, bool(sides[index]))
                for index, (crossing, ring) in enumerate(places[:count])
            ]
            if _is_clear(found, width):
                return found
    return []


def _sentence(crossing: Crossing, ring: Point, y: float, width: float, is_beside: bool) -> CrossingWords:
    """The words right of the hairline, or, where there is no room, above its end."""
    x, length = ring[0], width_of(crossing.words, is_bold=True)
    if is_beside:
        return CrossingWords(Words(x + 5, y, crossing.words, is_bold=True), ring, (x, y - 11))
    left = max(0.0, min(x - 3, width - length))
    return CrossingWords(Words(left, y, crossing.words, is_bold=True), ring, (x, y + 5))


def _is_clear(found: Sequence[CrossingWords], width: float) -> bool:
    hairlines = [sentence.hairline for sentence in found]
    boxes = [sentence.words.box for sentence in found]
    is_within = all(box.x >= 0 and box.right <= width for box in boxes)
    return is_within and not any(box.meets(line, 1) for box in boxes for line in hairlines)
