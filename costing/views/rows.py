"""Entries as the pages list them: one line each, whatever their kind."""

from datetime import date
from typing import NamedTuple

from config.showing import day, hours, pounds, whole
from costing.models import CostEntry, Entry, Fill, TeachingRecord
from costing.queries import ENTRY_MODELS
from fleet.core.registration import show

_KINDS = {model: kind for kind, model in ENTRY_MODELS.items()}


class EntryRow(NamedTuple):
    """One entry: what it is, how much, on which day, for which car."""

    kind: str
    pk: int
    title: str
    detail: str
    figure: str
    is_voided: bool


def row_of(entry: Entry) -> EntryRow:
    """Return the entry as one line."""
    mark = show(entry.car.registration)
    if isinstance(entry, Fill):
        title = "Fill"
        quantity = f"{entry.quantity.normalize():f} {'kWh' if entry.unit == 'kwh' else 'litres'}"
        what = [day(entry.filled_on), quantity, f"at {whole(entry.odometer)} miles"]
        what += ["not full"] if not entry.brimmed else []
        figure = pounds(entry.amount)
    elif isinstance(entry, CostEntry):
        title = entry.get_category_display()
        what = [day(entry.paid_on), *_cover(entry), *filter(None, [entry.supplier])]
        figure = pounds(entry.amount)
    elif isinstance(entry, TeachingRecord):
        title = "Lessons"
        private = [f"{whole(entry.private_miles)} private miles"] if entry.private_miles else []
        what = [span_of(entry.from_on, entry.to_on), f"{hours(entry.minutes)} hours", *private]
        figure = f"{entry.lesson_count} lesson{'' if entry.lesson_count == 1 else 's'}"
    else:
        raise TypeError(f"{type(entry).__name__} is not an entry that the pages list")
    return EntryRow(_KINDS[type(entry)], entry.pk, title, ", ".join([*what, mark]), figure, entry.voided_at is not None)


def _cover(cost: CostEntry) -> list[str]:
    if cost.covers_from and cost.covers_to:
        return [f"covers {span_of(cost.covers_from, cost.covers_to)}"]
    return [f"for {whole(cost.covers_miles)} miles"] if cost.covers_miles else []


def span_of(first: date, last: date) -> str:
    """Write days as people say them: 5 March 2027; 5 to 11 March 2027; 28 February to 6 March 2027."""
    if first == last:
        return day(first)
    if first.year != last.year:
        return f"{day(first)} to {day(last)}"
    return f"{first.day}{'' if first.month == last.month else f' {first:%B}'} to {day(last)}"
