"""What a picture is made of: bars, strokes, areas, discs, words and silhouettes, in units of a phone's pixel.

A paint is the name of a colour of the look: a shade ("ink"), a tone ("fuel") or an offer's tone ("o-a"). Which colour
that is depends on the scheme that the picture is rendered in; see `config.charts.paints`.
"""

from collections.abc import Iterable
from typing import NamedTuple, Protocol

from config.charts.paints import offer_paint
from config.charts.text import width_of
from config.look.offers import letter_place, offer_shape
from config.look.states import StateShape
from config.look.tokens import CHART_TYPE

Point = tuple[float, float]


class Frame(NamedTuple):
    """The sheet that a picture is drawn on: how wide it is, and whether it has room for long names."""

    width: int
    is_narrow: bool


NARROW, WIDE = Frame(326, True), Frame(640, False)
#: As wide as a sheet of paper, where words come out as small as those of a table, and low; denser for many offers.
STRIP, DENSE = Frame(800, True), Frame(1040, True)
#: As wide as a sheet of paper, with words of that size and room for long names; and as half of one.
SHEET, HALF = Frame(800, False), Frame(380, True)


def number(value: float) -> str:
    """A number as SVG has it: with a point, at most one decimal, never localised."""
    shown = f"{value:.1f}".removesuffix(".0")
    return "0" if shown == "-0" else shown


def path(points: Iterable[Point]) -> str:
    """Straight lines through points, as the data of a path."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)


class Box(NamedTuple):
    """A rectangle by its upper left corner."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height

    def meets(self, other: "Box", apart: float = 0) -> bool:
        """Whether the two are nearer to each other than ``apart`` both across and down."""
        return (
            self.x < other.right + apart
            and other.x < self.right + apart
            and self.y < other.bottom + apart
            and other.y < self.bottom + apart
        )


class Bars(NamedTuple):
    """Rectangles in one tone, with its pattern above them."""

    tone: str
    boxes: tuple[Box, ...]

    @property
    def d(self) -> str:
        return "".join(
            f"M{number(box.x)} {number(box.y)}h{number(box.width)}v{number(box.height)}h{number(-box.width)}z"
            for box in self.boxes
        )


class Stroke(NamedTuple):
    """Lines through points, ``width`` units thick."""

    paint: str
    lines: tuple[tuple[Point, ...], ...]
    width: float = 1
    dashes: str = ""
    is_round: bool = False  # at its ends; joins are round always

    @property
    def d(self) -> str:
        return "".join(path(line) for line in self.lines)

    @property
    def thickness(self) -> str:
        return number(self.width)


class Area(NamedTuple):
    """The inside of a polygon. ``opacity`` is 0 to 1, as text."""

    paint: str
    points: tuple[Point, ...]
    opacity: str = ""

    @property
    def d(self) -> str:
        return f"{path(self.points)}z"


class Disc(NamedTuple):
    """A circle, filled, with an edge of ``edge_width`` where that is not 0."""

    x: float
    y: float
    radius: float
    paint: str
    edge: str = "ink"
    edge_width: float = 0

    @property
    def places(self) -> tuple[str, str, str, str]:
        """Across, down, the radius and the edge, for the template."""
        return number(self.x), number(self.y), number(self.radius), number(self.edge_width)


class Words(NamedTuple):
    """One line of text, by the point that its ``anchor`` (start, middle or end) stands at on the baseline."""

    x: float
    y: float
    text: str
    paint: str = "ink"
    anchor: str = "start"
    is_bold: bool = False

    @property
    def place(self) -> tuple[str, str]:
        """Across and down, for the template."""
        return number(self.x), number(self.y)

    @property
    def box(self) -> Box:
        """The room it takes at most."""
        width = width_of(self.text, is_bold=self.is_bold)
        left = {"start": self.x, "middle": self.x - width / 2, "end": self.x - width}[self.anchor]
        return Box(left, self.y - 0.78 * CHART_TYPE, width, CHART_TYPE)


class Silhouette(NamedTuple):
    """The shape of a state, by its middle, on a disc or whatever is painted ``ground``."""

    x: float
    y: float
    size: float
    shape: StateShape
    ground: str = "paper"

    @property
    def ink(self) -> str:
        """What is far off stands back."""
        return "quiet" if self.shape.name == "later" else "ink"

    @property
    def transform(self) -> str:
        return _tile(self.x, self.y, self.size)


class OfferMark(NamedTuple):
    """The shape of an offer with its letter on it, by its middle."""

    x: float
    y: float
    size: float
    letter: str

    @property
    def paint(self) -> str:
        return offer_paint(self.letter)

    @property
    def shape(self) -> str:
        return offer_shape(self.letter)

    @property
    def letter_place(self) -> tuple[str, str]:
        return letter_place(self.letter)

    @property
    def transform(self) -> str:
        return _tile(self.x, self.y, self.size)


class Link(NamedTuple):
    """A part of the picture that opens a page: what is pressed lies over everything, and nothing of it is seen.

    Only a screen has it.
    """

    box: Box
    to: str
    words: str

    @property
    def place(self) -> tuple[str, str, str, str]:
        """Across, down, width and height, for the template."""
        return number(self.box.x), number(self.box.y), number(self.box.width), number(self.box.height)


def _tile(x: float, y: float, size: float) -> str:
    """What lays a tile of 24 by 24 with its middle at a point."""
    return f"translate({number(x - size / 2)} {number(y - size / 2)}) scale({size / 24:.3f})"


Mark = Bars | Stroke | Area | Disc | Words | Silhouette | OfferMark | Link


class Drawing(NamedTuple):
    """A picture: the finding as its title, the figures in words as its description, and its marks from the back."""

    title: str
    description: str
    width: float
    height: float
    marks: tuple[Mark, ...]

    @property
    def tones(self) -> list[str]:
        """The tones whose patterns it needs, each once."""
        return list(dict.fromkeys(mark.tone for mark in self.marks if isinstance(mark, Bars)))

    @property
    def links(self) -> list[Link]:
        """The parts of it that open a page, in the order in which a keyboard comes to them."""
        return [mark for mark in self.marks if isinstance(mark, Link)]

    @property
    def view_box(self) -> str:
        return f"0 0 {number(self.width)} {number(self.height)}"


class Drawn(Protocol):
    """A record of what to draw."""

    def draw(self, frame: Frame) -> Drawing:
        """The picture of it on a sheet of that width."""
