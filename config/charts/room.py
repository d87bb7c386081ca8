"""How much room there is: a bar up to the sum below which an offer stays the cheaper one, and an open road beyond."""

from collections.abc import Iterator
from dataclasses import dataclass

from config.charts.marks import Area, Drawing, Frame, Mark, Stroke, Words
from config.charts.paints import offer_paint
from config.charts.text import fitted, width_of

_TOP, _BAR, _POST = 3, 25, 42
#: What lies beyond the post is as long as this, dashed, because nobody knows how far it goes.
_BEYOND = 32


@dataclass(frozen=True)
class RoomBelow:
    """The bar of the offer with this letter, what holds ``within`` it, and the ``limit`` at which that ends."""

    title: str
    letter: str
    within: str
    limit: str

    @property
    def description(self) -> str:
        return f"Below {self.limit} {self.within}; beyond that, nobody can say."

    def draw(self, frame: Frame) -> Drawing:
        """The bar, its post, and the sum below the post."""
        return Drawing(self.title, self.description, frame.width, _TOP + _POST + 18, tuple(self._marks(frame)))

    def _marks(self, frame: Frame) -> Iterator[Mark]:
        end = min(frame.width, 480) - _BEYOND
        top, bottom = _TOP + (_POST - _BAR) / 2, _TOP + (_POST + _BAR) / 2
        middle = (top + bottom) / 2
        yield Area(offer_paint(self.letter), ((0, top), (end, top), (end, bottom), (0, bottom)))
        yield Words(8, middle + 4.5, fitted(self.within, end - 16, is_bold=True), "paper", is_bold=True)
        yield Stroke("ink", (((end, _TOP), (end, _TOP + _POST)),), 5)
        yield Stroke("quiet", (((end + 8, middle), (end + _BEYOND, middle)),), 3, "9 6")
        middle_of_words = min(end, min(frame.width, 480) - width_of(self.limit, is_bold=True) / 2)
        yield Words(middle_of_words, _TOP + _POST + 14, self.limit, anchor="middle", is_bold=True)
