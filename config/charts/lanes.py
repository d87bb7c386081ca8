"""Twelve weeks ahead with a lane for each car, for wide screens: what falls due stands in its car's lane."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from config.charts.marks import Area, Disc, Drawing, Frame, Mark, Silhouette, Stroke, Words
from config.charts.road import WEEKS, Item, places_of, short_day, silhouette, stones
from config.charts.text import fitted
from config.look.states import state_shape

_LANE, _TOP, _RADIUS, _STOP = 40.0, 22.0, 13.0, 36.0
_NAMES = 128.0
#: Where today stands.
_LEFT = _NAMES + _RADIUS + 3


class Lane(NamedTuple):
    """One car: its mark, its keeper, what falls due, and whether it is off the road."""

    mark: str
    keeper: str
    items: tuple[Item, ...]
    is_closed: bool = False


@dataclass(frozen=True)
class LanesAhead:
    """The lanes in the order given, from ``today`` on."""

    title: str
    today: date
    lanes: tuple[Lane, ...]

    @property
    def description(self) -> str:
        """Each car with what falls due in the twelve weeks."""
        return " ".join(self._told(lane) for lane in self.lanes)

    def _told(self, lane: Lane) -> str:
        items = [f"{item.words} {item.day}" for item in stones(lane.items, self.today)]
        closed = ["off the road"] if lane.is_closed else []
        return f"{lane.mark}: {', '.join([*closed, *items]) or 'nothing'}."

    def draw(self, frame: Frame) -> Drawing:
        """The picture of them; it needs a wide sheet."""
        height = _TOP + _LANE * len(self.lanes) + 2
        marks = [*self._days(frame), *self._road(frame)]
        for index, lane in enumerate(self.lanes):
            marks += self._lane(lane, _TOP + index * _LANE, frame)
        return Drawing(self.title, self.description, frame.width, height, tuple(marks))

    def _week(self, frame: Frame) -> float:
        return (frame.width - _RADIUS - 1 - _LEFT) / WEEKS

    def _days(self, frame: Frame) -> Iterator[Mark]:
        """Today and every second week, above the lanes."""
        for week in range(0, WEEKS, 2):
            words = short_day(self.today + timedelta(weeks=week)) if week else "today"
            yield Words(_LEFT + week * self._week(frame), 13, words, "quiet", "middle")

    def _road(self, frame: Frame) -> Iterator[Mark]:
        bottom = _TOP + _LANE * len(self.lanes)
        yield Area("road", ((_NAMES, _TOP), (frame.width, _TOP), (frame.width, bottom), (_NAMES, bottom)))
        week = self._week(frame)
        dashes = tuple(
            ((_LEFT + week * (at + 0.25), _TOP + _LANE * lane), (_LEFT + week * (at + 0.75), _TOP + _LANE * lane))
            for lane in range(1, len(self.lanes))
            for at in range(WEEKS)
        )
        if dashes:
            yield Stroke("paint", dashes, 2)

    def _lane(self, lane: Lane, y: float, frame: Frame) -> Iterator[Mark]:
        middle = y + _LANE / 2
        yield Words(0, middle - 3, fitted(lane.mark, _NAMES - 8, is_bold=True), is_bold=True)
        yield Words(0, middle + 13, fitted(lane.keeper, _NAMES - 8), "quiet")
        start = _LEFT
        if lane.is_closed:
            left = _NAMES + _STOP
            top, bottom = y + 1.5, y + _LANE - 1.5
            yield Area("paper", ((left, top), (frame.width, top), (frame.width, bottom), (left, bottom)), ".2")
            yield Stroke("paint", (((left, y + 3), (left, y + _LANE - 3)),), 6)
            yield Disc(start, middle, _RADIUS, "paper", "road", 2)
            yield Silhouette(start, middle, 18, state_shape("off"))
            start = left + _RADIUS + 8
        items = stones(lane.items, self.today)
        places = places_of(items, self.today, _LEFT, frame.width - _RADIUS - 1, start)
        for x, item in reversed(list(zip(places, items, strict=True))):
            yield Disc(x, middle, _RADIUS, "paper", "road", 2)
            yield silhouette(item, self.today, x, middle, 18)
