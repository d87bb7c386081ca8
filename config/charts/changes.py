"""What has changed, as bars from one upright: less to the left, more to the right, the largest first."""

from collections.abc import Iterator
from dataclasses import dataclass

from config.charts.marks import Area, Bars, Box, Drawing, Frame, Mark, Stroke, Words
from config.charts.pound import Part
from config.charts.scales import change_money
from config.charts.text import width_of
from config.look.tokens import TONES

_ROW, _BAR = 26, 18
#: A bar is never drawn thinner than this, so that a change of a penny is seen.
_LEAST = 1.0


@dataclass(frozen=True)
class ChangesFromUpright:
    """The changes in pence, below nought for less; those of nothing are not drawn.

    What is of no one group of costs has a shade in place of a tone, as ink, and no pattern.
    """

    title: str
    changes: tuple[Part, ...]

    @property
    def drawn(self) -> list[Part]:
        """The changes that there are, the largest first."""
        return sorted((change for change in self.changes if change.pence), key=lambda change: -abs(change.pence))

    @property
    def description(self) -> str:
        told = ", ".join(f"{change.words} {change_money(change.pence)}" for change in self.drawn)
        return f"{told}." if told else "Nothing has changed."

    def draw(self, frame: Frame) -> Drawing:
        """The picture of them."""
        height = max(1, len(self.drawn)) * _ROW
        return Drawing(self.title, self.description, frame.width, height, tuple(self._marks(frame, height)))

    def _marks(self, frame: Frame, height: float) -> Iterator[Mark]:
        upright, scale = self._place(frame)
        for index, change in enumerate(self.drawn):
            y = index * _ROW + (_ROW - _BAR) / 2
            length = round(max(_LEAST, abs(change.pence) * scale), 1)
            is_less = change.pence < 0
            yield Words(0, y + _BAR / 2 + 4.5, change.words)
            yield _bar(change.tone, Box(upright - length if is_less else upright, y, length, _BAR))
            end = upright + (-length - 6 if is_less else length + 6)
            anchor = "end" if is_less else "start"
            yield Words(end, y + _BAR / 2 + 4.5, change_money(change.pence), anchor=anchor, is_bold=True)
        yield Stroke("ink", (((upright, 0), (upright, height)),), 2)

    def _place(self, frame: Frame) -> tuple[float, float]:
        """Where the upright stands, and how many units a penny is."""
        names = max((width_of(change.words) for change in self.drawn), default=0) + 10
        less = [change for change in self.drawn if change.pence < 0]
        more = [change for change in self.drawn if change.pence > 0]
        most_less, most_more = (max((abs(one.pence) for one in side), default=0) for side in (less, more))
        sums = [
            max((width_of(change_money(one.pence), is_bold=True) for one in side), default=-4) + 7
            for side in (less, more)
        ]
        room = min(frame.width - names - sum(sums) - 2, 420) - 2 * _LEAST
        scale = room / ((most_less + most_more) or 1)
        return round(names + sums[0] + max(_LEAST, most_less * scale), 1), scale


def _bar(tone: str, box: Box) -> Mark:
    if tone in TONES:
        return Bars(tone, (box,))
    return Area(tone, ((box.x, box.y), (box.right, box.y), (box.right, box.bottom), (box.x, box.bottom)))
