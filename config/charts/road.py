"""The road ahead: twelve weeks from today, one dash a week, and each thing that falls due at its day."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import NamedTuple

from config.charts.marks import Area, Disc, Drawing, Frame, Mark, Point, Silhouette, Stroke, Words
from config.charts.road_labels import Label, labels_below
from config.charts.scales import spread
from config.look.states import state_shape

WEEKS = 12
_HEIGHT, _RADIUS, _APART = 34.0, 13.0, 16.0
#: How far from either end of the strip the first and the last day stand.
_EDGE = _RADIUS + 1
#: Where the road is closed: across, after the shape that says why.
_STOP = 36.0


class Item(NamedTuple):
    """Something that falls due: what, when, its state (of `tokens.STATES`), and how long before it is called due.

    ``is_forecast``: nobody recorded the day, it follows from the miles. ``label`` stands in place of its day.
    """

    words: str
    on: date
    state: str
    notice_days: int = 30
    is_forecast: bool = False
    label: str = ""

    @property
    def day(self) -> str:
        """Its day: 14 Dec, or about 14 Dec."""
        return self.label or f"{'about ' if self.is_forecast else ''}{short_day(self.on)}"


def short_day(day: date) -> str:
    """A day of this road: 14 Dec."""
    return f"{day.day} {day:%b}"


def worst_first(item: Item) -> int:
    """The order of what may stand at one place."""
    return ("off", "overdue", "unknown", "due", "booked", "later").index(item.state)


def silhouette(item: Item, today: date, x: float, y: float, size: float) -> Silhouette:
    """The item's state at a place; the ring of "due" fills by the days that are left."""
    days_left = (item.on - today).days
    return Silhouette(x, y, size, state_shape(item.state, days_left, item.notice_days))


def stones(items: Iterable[Item], today: date) -> list[Item]:
    """What stands on the road of twelve weeks, in its order: things of one day as one, by the worst state among them.

    All that is overdue stands at today, so it is one too. The day of such a one is a forecast only if all of them are.
    """
    last = today + timedelta(weeks=WEEKS)
    days: dict[date, list[Item]] = {}
    for item in sorted(items, key=lambda item: (max(item.on, today), worst_first(item), item.on)):
        if item.on <= last:
            days.setdefault(max(item.on, today), []).append(item)
    return [
        same[0]._replace(
            words=", ".join(dict.fromkeys(one.words for one in same)),
            is_forecast=all(one.is_forecast for one in same),
            label="" if len({one.on for one in same}) == 1 else "by today",
        )
        for same in days.values()
    ]


def places_of(items: Sequence[Item], today: date, left: float, right: float, low: float) -> list[float]:
    """Where each of the stones stands on the line from today at ``left`` to twelve weeks on at ``right``.

    Those near to each other step aside, so that of each some units show; none stands before ``low``.
    """
    days = WEEKS * 7
    wanted = [left + (right - left) * max((item.on - today).days, 0) / days for item in items]
    apart = min(_APART, (right - low) / max(1, len(items) - 1))
    return spread(wanted, apart, low, right)


@dataclass(frozen=True)
class RoadAhead:
    """What falls due from ``today`` on; what lies beyond twelve weeks is not on it. ``is_closed``: off the road."""

    title: str
    today: date
    items: tuple[Item, ...]
    is_closed: bool = False

    @cached_property
    def drawn(self) -> list[Item]:
        """The stones on the road."""
        return stones(self.items, self.today)

    @property
    def description(self) -> str:
        """Each item with its day."""
        last = self.today + timedelta(weeks=WEEKS)
        items = sorted((item for item in self.items if item.on <= last), key=lambda item: (item.on, worst_first(item)))
        told = "; ".join(f"{item.words} {item.day}, {self._days(item)}" for item in items)
        closed = "The road is closed: the car is off the road. " if self.is_closed else ""
        return f"{closed}{told}." if told else f"{closed}Nothing falls due in the next twelve weeks."

    def _days(self, item: Item) -> str:
        days = (item.on - self.today).days
        if days == 0:
            return "today"
        return f"{abs(days)} day{'' if abs(days) == 1 else 's'} {'ago' if days < 0 else 'ahead'}"

    def draw(self, frame: Frame) -> Drawing:
        """The picture of it."""
        left, right = _EDGE, frame.width - _EDGE
        places = places_of(self.drawn, self.today, left, right, _STOP + _RADIUS + 8 if self.is_closed else left)
        labels = labels_below(
            tuple((x, item.words, item.day) for x, item in zip(places, self.drawn, strict=True)),
            frame.width,
            _HEIGHT,
        )
        marks = [*self._strip(frame), *_hairlines(labels), *self._signs(places), *self._labels(labels, frame)]
        height = max((mark.y for mark in marks if isinstance(mark, Words)), default=_HEIGHT) + 6
        return Drawing(self.title, self.description, frame.width, height, tuple(marks))

    def _strip(self, frame: Frame) -> Iterator[Mark]:
        middle, week = _HEIGHT / 2, (frame.width - 2 * _EDGE) / WEEKS
        yield Area("road", ((0, 0), (frame.width, 0), (frame.width, _HEIGHT), (0, _HEIGHT)))
        dashes = tuple(
            ((_EDGE + week * (at + 0.22), middle), (_EDGE + week * (at + 0.78), middle))
            for at in range(WEEKS)
            if not self.is_closed or _EDGE + week * at > _STOP
        )
        yield Stroke("paint", dashes, 3)
        if self.is_closed:
            yield Area("paper", ((_STOP, 0), (frame.width, 0), (frame.width, _HEIGHT), (_STOP, _HEIGHT)), ".2")
            yield Stroke("paint", (((_STOP, 2), (_STOP, _HEIGHT - 2)),), 6)
            yield Disc(_RADIUS + 3, middle, _RADIUS, "paper", "road", 2)
            yield Silhouette(_RADIUS + 3, middle, 18, state_shape("off"))

    def _signs(self, places: Sequence[float]) -> Iterator[Mark]:
        """Discs with silhouettes; the sooner lies over the later."""
        for x, item in reversed(list(zip(places, self.drawn, strict=True))):
            yield Disc(x, _HEIGHT / 2, _RADIUS, "paper", "road", 2)
            yield silhouette(item, self.today, x, _HEIGHT / 2, 18)

    def _labels(self, labels: Sequence[Label], frame: Frame) -> Iterator[Words]:
        for label in labels:
            yield from label.lines
        if not labels and not self.is_closed:
            last = self.today + timedelta(weeks=WEEKS)
            yield Words(0, _HEIGHT + 17, "today", "quiet")
            yield Words(frame.width, _HEIGHT + 17, short_day(last), "quiet", "end")


def _hairlines(labels: Sequence[Label]) -> Iterator[Mark]:
    lines: tuple[tuple[Point, ...], ...] = tuple(label.hairline for label in labels if label.hairline)
    if lines:
        yield Stroke("edge", lines, 1.5)
