"""Where each pound goes: one bar of parts, the largest first, with what each takes of it in pence."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from config.charts.marks import Bars, Box, Drawing, Frame, Mark, Stroke, Words
from config.charts.scales import shares_of_100
from config.charts.text import width_of
from config.showing import pence_as_pounds


class Part(NamedTuple):
    """What one group of costs takes: its tone, its words where there is room, and pence."""

    tone: str
    words: str
    pence: int


def laid_out(parts: Sequence[Part], box: Box, scale: float) -> list[tuple[Part, Box]]:
    """Where each part above nought lies in a bar, ``scale`` units a penny.

    It rounds their edges, so that the parts meet and add up to the tenth of a unit.
    """
    found, so_far = [], 0
    for part in parts:
        if part.pence > 0:
            edges = [round(box.x + pence * scale, 1) for pence in (so_far, so_far + part.pence)]
            found.append((part, Box(edges[0], box.y, edges[1] - edges[0], box.height)))
            so_far += part.pence
    return found


def bar_of(places: Sequence[tuple[Part, Box]]) -> Iterator[Mark]:
    """The parts of a bar, with a seam of the ground between them."""
    for part, box in places:
        yield Bars(part.tone, (box,))
    seams = tuple(
        ((box.x, box.y), (box.x, box.bottom))
        for (_, before), (_, box) in pairwise(places)
        if min(before.width, box.width) >= 2.5
    )
    if seams:
        yield Stroke("card", seams, 1.5)


@dataclass(frozen=True)
class EachPound:
    """One bar of all that was paid for; parts of nought or less are not drawn, and said."""

    title: str
    parts: tuple[Part, ...]

    @property
    def drawn(self) -> list[Part]:
        """What is drawn, the largest first."""
        return sorted((part for part in self.parts if part.pence > 0), key=lambda part: -part.pence)

    @property
    def description(self) -> str:
        """The share of each part, and what is not drawn."""
        shares = shares_of_100([part.pence for part in self.drawn])
        told = ", ".join(f"{part.words} {share}p" for part, share in zip(self.drawn, shares, strict=True))
        below = [f"{part.words} {pence_as_pounds(part.pence)}" for part in self.parts if part.pence < 0]
        words = f"Of each pound: {told}." if told else "Nothing was paid for."
        return f"{words} Below nought, and not drawn: {', '.join(below)}." if below else words

    def draw(self, frame: Frame) -> Drawing:
        """The bar, names above it and pence below it where they fit."""
        box = Box(0, 20, frame.width, 34 if frame.is_narrow else 40)
        whole = sum(part.pence for part in self.drawn)
        places = laid_out(self.drawn, box, frame.width / whole if whole else 0)
        shares = shares_of_100([part.pence for part in self.drawn])
        marks = [*bar_of(places), *_names(places), *_figures(places, shares)]
        if not places:
            outline = ((1, box.y), (frame.width - 1, box.y), (frame.width - 1, box.bottom), (1, box.bottom), (1, box.y))
            marks.append(Stroke("quiet", (outline,), 1.5, "3 3"))
        return Drawing(self.title, self.description, frame.width, box.bottom + 22, tuple(marks))


def _names(places: Sequence[tuple[Part, Box]]) -> Iterator[Words]:
    for part, box in places:
        if width_of(part.words) <= box.width - 3:
            yield Words(box.x + 1, 14, part.words)


def _figures(places: Sequence[tuple[Part, Box]], shares: Sequence[int]) -> Iterator[Words]:
    """The pence below each part, without their letter where that does not fit."""
    for (_, box), share in zip(places, shares, strict=True):
        for words in (f"{share}p", f"{share}"):
            if share and width_of(words, is_bold=True) <= box.width - 2:
                yield Words(box.x + 1, box.bottom + 16, words, is_bold=True)
                break
