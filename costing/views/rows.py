"""Entries as the pages list them: one line each, whatever their kind."""

from datetime import date
from typing import NamedTuple

from config.showing import hours_taught, pounds, span_of, whole
from costing.models import CostEntry, Entry, Fill, TeachingRecord
from costing.queries import ENTRY_MODELS
from costing.wording.spread import spread_of
from fleet.core.registration import show

_KINDS = {model: kind for kind, model in ENTRY_MODELS.items()}


class EntryRow(NamedTuple):
    """One entry: what it is, how much, on which days, what else is said about it, and its car's mark.

    ``short_when`` is for a list under the head of its month.
    """

    kind: str
    pk: int
    title: str
    last_day: date
    when: str
    short_when: str
    about: str
    mark: str
    figure: str
    is_voided: bool

    @property
    def detail(self) -> str:
        """All about it but what it is and how much."""
        return ", ".join(filter(None, [self.when, self.about, self.mark]))

    @property
    def month(self) -> date:
        """The first day of the month under which it is listed."""
        return self.last_day.replace(day=1)


def row_of(entry: Entry) -> EntryRow:
    """Return the entry as one line."""
    if isinstance(entry, Fill):
        title, figure = "Charge" if entry.unit == "kwh" else "Fill", pounds(entry.amount)
        first = last = entry.filled_on
        quantity = f"{entry.quantity.normalize():f} {'kWh' if entry.unit == 'kwh' else 'litres'}"
        what = [quantity, f"at {whole(entry.odometer)} miles", *([] if entry.brimmed else ["not full"])]
    elif isinstance(entry, CostEntry):
        title, figure = entry.get_category_display(), pounds(entry.amount)
        first = last = entry.paid_on
        what = [*_cover(entry), *filter(None, [entry.supplier])]
    elif isinstance(entry, TeachingRecord):
        title, figure = "Lessons", lessons_of(entry.lesson_count)
        first, last = entry.from_on, entry.to_on
        what = [_taught(entry), _private(entry.private_miles)]
    else:
        raise TypeError(f"{type(entry).__name__} is not an entry that the pages list")
    return EntryRow(
        *(_KINDS[type(entry)], entry.pk, title, last, span_of(first, last), within_month(first, last)),
        about=", ".join(filter(None, what)),
        mark=show(entry.car.registration),
        figure=figure,
        is_voided=entry.voided_at is not None,
    )


def lessons_of(count: int | None) -> str:
    """Return a number of lessons in words: 1 lesson, none, not known."""
    if count is None:
        return "not known"
    return f"{count} lesson{'' if count == 1 else 's'}" if count else "none"


def _taught(record: TeachingRecord) -> str:
    if record.minutes is None:
        return "hours not known"
    return hours_taught(record.minutes) if record.minutes or record.lesson_count else ""


def _private(miles: int | None) -> str:
    if miles is None:
        return "private miles not known"
    return f"{whole(miles)} private miles" if miles else ""


def within_month(first: date, last: date) -> str:
    """Write days under the head of the last one's month: Mon 5; 5 to 11; 28 Feb to 6 Mar."""
    if first == last:
        return f"{last:%a} {last.day}"
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day} to {last.day}"
    return f"{first.day} {first:%b} to {last.day} {last:%b}"


def _cover(cost: CostEntry) -> list[str]:
    spread = spread_of(cost)
    if cost.covers_from and cost.covers_to:
        return [f"{spread}, {span_of(cost.covers_from, cost.covers_to)}"]
    return [spread] if spread else []
