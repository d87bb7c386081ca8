"""One car's book of entries, read from its beginning: what is plausible of each after the ones before it.

For whatever takes in many entries at once. The work for each is bounded, however many went before.
"""

from collections import deque
from collections.abc import Iterable, Mapping
from datetime import date
from types import MappingProxyType

from costing.core.catalogue.costs import ENTRY_CATEGORIES
from costing.core.plausible import cost, fill, week
from costing.core.plausible.logged import DAY_FIELDS, hours_field, lessons_of
from costing.core.records import Cost, Fill, Teaching
from fleet.core.odometer import Reading
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.odometer import Shown

#: The rooms by the kind of entry: "lessons" of a span of days, or of a "week".
ROOMS = {"fill": fill, "cost": cost, "lessons": week, "week": week}
#: The day of a typed entry.
DAY_FIELD = {"fill": "filled_on", "cost": "paid_on", "lessons": "from_on", "week": "from_on"}


def doubts_of(kind: str, typed: Typed, limits: Limits, *, with_meanings: bool = True) -> list[Doubt]:
    """What may be wrong with an entry of a kind (``ROOMS``), by the limits of its room; what is meant takes time."""
    found: list[Doubt] = ROOMS[kind].doubts(typed, limits, with_meanings=with_meanings)
    return found


class Running:
    """What is known of a car so far, and the limits that follow from it; ``add`` takes an accepted entry in."""

    def __init__(
        self,
        fuel: str,
        today: date,
        *,
        fills: Iterable[Fill] = (),
        costs: Iterable[Cost] = (),
        lessons: Iterable[Teaching] = (),
        readings: Iterable[Reading] = (),
        of_group: Mapping[str, int] = MappingProxyType({}),
    ) -> None:
        self.fuel, self.today, self._of_group = fuel, today, of_group
        self._fills = deque(fills, fill.MOST_FILLS)
        self._costs, self._covers = deque[Cost](maxlen=cost.MOST_COSTS), deque[Cost](maxlen=cost.MOST_COVERS)
        for one in costs:
            self._add_cost(one)
        self._lessons = deque(lessons, week.MOST_RECORDS)
        self._shown = Shown([*readings, *(Reading(one.filled_on, one.odometer) for one in self._fills)])
        self._limits: dict[tuple[str, str | None], Limits] = {}

    def limits(self, kind: str, of: str | None = None) -> Limits:
        """The limits of a kind of entry now, or ``of`` one unit or category of it alone.

        The entry that was added last is the one that was logged last.
        """
        if (kind, of) not in self._limits:
            self._limits[kind, of] = self._made(kind, of)
        return self._limits[kind, of] | {"today": self.today.isoformat()}

    def _made(self, kind: str, of: str | None) -> Limits:
        if kind == "fill":
            latest = self._fills[-1].filled_on if self._fills else None
            units = [unit for unit in fill.UNITS if of in (None, unit)]
            return fill.limits(self._fills, self._shown.limits(), self.fuel, latest, self.today, units=units)
        if kind == "cost":
            latest = self._costs[-1].paid_on if self._costs else None
            rows = [row for row in ENTRY_CATEGORIES if of in (None, row.name)]
            return cost.limits([*self._covers, *self._costs], latest, self.today, self._of_group, rows=rows)
        latest = self._lessons[-1].from_on if self._lessons else None
        return week.limits(self._lessons, self._shown.limits(), latest, self.today)

    def _add_cost(self, one: Cost) -> None:
        self._costs.append(one)
        if one.covers_to:
            self._covers.append(one)

    def doubts(self, kind: str, typed: Typed, *, with_meanings: bool = True) -> list[Doubt]:
        """What may be wrong with the next entry. Only what may be meant instead is of other units and categories."""
        of = None if with_meanings else typed.get("unit") or typed.get("category")
        return doubts_of(kind, typed, self.limits(kind, of), with_meanings=with_meanings)

    def read(self, reading: Reading) -> None:
        """Take in what the odometer showed on a day."""
        self._shown.read(reading)
        self._limits.clear()

    def add(self, kind: str, typed: Typed) -> None:
        """Take an entry as right."""
        self._limits.clear()
        if kind == "fill":
            one = _fill_of(typed)
            self._fills.append(one)
            self._shown.read(Reading(one.filled_on, one.odometer))
        elif kind == "cost":
            self._add_cost(_cost_of(typed))
        else:
            self._lessons.extend(_lessons_of(typed))


def _fill_of(typed: Typed) -> Fill:
    day, brimmed, gap = date.fromisoformat(typed["filled_on"]), bool(typed["brimmed"]), bool(typed["gap_before"])
    return Fill(day, typed["odometer"], typed["quantity"], typed["unit"], typed["amount"], brimmed, gap)


def _cost_of(typed: Typed) -> Cost:
    pence = -typed["amount"] if typed["refund"] else typed["amount"]
    covered = [date.fromisoformat(typed[name]) if typed[name] else None for name in ("covers_from", "covers_to")]
    return Cost(date.fromisoformat(typed["paid_on"]), typed["category"], pence, covered[0], covered[1])


def _lessons_of(typed: Typed) -> Iterable[Teaching]:
    """The records that lessons become: one of a span of days, or one of each day of a week."""
    first, count = date.fromisoformat(typed["from_on"]), lessons_of(typed)
    minutes = typed[hours_field(typed)]
    by_day = [typed.get(field) for field in DAY_FIELDS]
    if by_day == [None] * len(by_day):
        yield Teaching(first, date.fromisoformat(typed["to_on"]), count, minutes, typed["private_miles"])
        return
    for number, lessons in enumerate(by_day):
        day = date.fromordinal(first.toordinal() + number)
        if lessons is not None:
            each = minutes * lessons // count if minutes and count else minutes
            yield Teaching(day, day, lessons, each, None)
