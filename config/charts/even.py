"""Break-even: what a week takes and costs over the hours taught in it, and the ring where one pays for the other."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from config.charts.marks import Disc, Drawing, Frame, Mark, Point, Stroke, Words
from config.charts.scales import axis_money, levels, short_money, spread
from config.charts.text import width_of

#: Hours of a week beyond which nobody teaches, and the fewest that are drawn.
_MOST, _FEWEST = 80.0, 10.0
_TOP, _BOTTOM = 30.0, 232.0


@dataclass(frozen=True)
class BreakEven:
    """One lesson hour brings in ``price`` and causes ``variable`` pence; the week costs ``fixed`` whatever is taught.

    ``even`` are the hours at which one pays for the other, ``taught`` those of the member; None is not known.
    """

    title: str
    price: int
    variable: float
    fixed: float
    even: float | None
    taught: float | None

    @property
    def most(self) -> float:
        """The last hour that is drawn: with the ring and the own hours inside, if these can be."""
        wanted = max(
            [_FEWEST, *(1.25 * hours for hours in (self.even, self.taught) if hours is not None and hours < _MOST)]
        )
        return min(_MOST, -(-wanted // 5) * 5)

    def cost(self, hours: float) -> float:
        """What a week of so many hours costs, in pence."""
        return self.fixed + self.variable * hours

    @property
    def description(self) -> str:
        """Where both lines begin and end, and where they cross."""
        hours = f"{self.most:.0f}"
        ends = f"{short_money(self.price * self.most)} is taken and {short_money(self.cost(self.most))} spent"
        crossed = "They do not cross." if self.even is None else f"They cross at {self.even:.1f} hours."
        own = "" if self.taught is None else f" Taught: {self.taught:.1f} hours."
        return f"At no hours {short_money(self.fixed)} is spent; at {hours} hours {ends}. {crossed}{own}"

    def draw(self, frame: Frame) -> Drawing:
        """The picture of it."""
        marks = tuple(_Layout(self, frame).marks())
        return Drawing(self.title, self.description, frame.width, _BOTTOM + 24, marks)


class _Layout:
    """Where everything of one picture lies."""

    def __init__(self, what: BreakEven, frame: Frame) -> None:
        self.what, self.frame, self.most = what, frame, what.most
        self.taken, self.spent = what.price * self.most, what.cost(self.most)
        self.high = max(1.0, self.taken, self.spent)
        self.levels = levels(0, self.high, smallest=100)
        self.left = max((width_of(axis_money(level)) for level in self.levels), default=0) + 6
        ends = max(width_of(words, is_bold=True) for words in self._named)
        self.right = frame.width - ends - 8

    @cached_property
    def _named(self) -> tuple[str, str]:
        """What each line is, with what it comes to at its end."""
        return f"taken {short_money(self.taken)}", f"spent {short_money(self.spent)}"

    @property
    def _hours(self) -> str:
        return f"{self.most:.0f} hours a week"

    def at(self, hours: float, pence: float) -> Point:
        """The place of so many hours and pence."""
        across = self.left + (self.right - self.left) * hours / self.most
        return across, _BOTTOM - (_BOTTOM - _TOP) * pence / self.high

    def marks(self) -> Iterator[Mark]:
        """Axis, lines, their names, the own hours and the ring."""
        yield from self._axis()
        yield Stroke("ink", ((self.at(0, self.what.fixed), self.at(self.most, self.spent)),), 2.5, "6 4")
        yield Stroke("accent", ((self.at(0, 0), self.at(self.most, self.taken)),), 3)
        yield from self._names()
        yield from self._own()
        yield from self._ring()

    def _axis(self) -> Iterator[Mark]:
        for level in self.levels:
            _, y = self.at(0, level)
            yield Stroke("grid", (((self.left, y), (self.right, y)),))
            yield Words(0, y + 4.5, axis_money(level), "quiet")
        yield Stroke("ink", ((self.at(0, 0), self.at(self.most, 0)),), 2)
        yield Words(self.right, _BOTTOM + 18, self._hours, "quiet", "end")

    def _names(self) -> Iterator[Mark]:
        ends = sorted(
            zip((self.at(self.most, self.taken)[1], self.at(self.most, self.spent)[1]), self._named, strict=True)
        )
        places = spread([y for y, _ in ends], 17, _TOP, _BOTTOM - 4)
        for (_, words), y in zip(ends, places, strict=True):
            yield Words(self.right + 8, y + 4.5, words, is_bold=True)

    def _own(self) -> Iterator[Mark]:
        taught = self.what.taught
        if taught is None or taught > self.most:
            return
        x, _ = self.at(taught, 0)
        yield Stroke("quiet", (((x, _TOP - 12), (x, _BOTTOM)),), 1.5, "2 3")
        words = f"you: {taught:.1f}".removesuffix(".0")
        yield _beside(Words(x, _TOP - 16, words), self.frame.width)

    def _ring(self) -> Iterator[Mark]:
        even = self.what.even
        if even is None or even > self.most:
            return
        ring = self.at(even, self.what.price * even)
        yield Stroke("ink", ((ring, (ring[0], _BOTTOM)),), 1.5)
        yield Disc(*ring, 5, "card", "ink", 2)
        words = f"{even:.1f}"
        half, last = width_of(words, is_bold=True) / 2, self.right - width_of(self._hours)
        if ring[0] + half + 8 < last:
            yield Words(ring[0], _BOTTOM + 18, words, "ink", "middle", is_bold=True)
        else:
            yield Words(ring[0] - 7, _BOTTOM - 6, words, "ink", "end", is_bold=True)


def _beside(words: Words, width: float) -> Words:
    """The words in the middle of their place, or as near as the sheet lets them be."""
    half = width_of(words.text) / 2
    return words._replace(x=min(max(words.x, half), width - half), anchor="middle")
