"""The entries of a statement as lines: what each is, when, by which rule it was shared, and its part."""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from config.showing import span_of
from costing.core.catalogue.costs import COST_CATEGORIES
from costing.core.ends import NOTHING, shifted
from costing.core.records import Fill, Period
from costing.statement.report import StatementEntry
from costing.wording.spread import shared_into
from fleet.core.registration import show


class EntryLine(NamedTuple):
    """One entry: its kind and key for its address, words, its rule (empty if all of it counts), and its pence.

    ``pence`` are true cost of the period, ``paid`` are money out in it.
    """

    kind: str
    pk: int
    title: str
    on: date
    when: str
    rule: str
    mark: str
    pence: int
    paid: int


def lines_of(entries: Iterable[StatementEntry], period: Period) -> list[EntryLine]:
    """Return the entries of a statement as lines."""
    return [_line(entry, period) for entry in entries]


def _line(entry: StatementEntry, period: Period) -> EntryLine:
    record = entry.record
    moved = shifted(entry.total, period) if entry.total else NOTHING
    kind, title = "cost", COST_CATEGORIES[entry.category].words
    if isinstance(record, Fill):
        kind, title = "fill", "Charge" if record.unit == "kwh" else "Fill"
    return EntryLine(
        *(kind, record.key or 0, title, entry.on, span_of(entry.on, entry.on)),
        rule=shared_into(record, entry.pence, period, moved, entry.car.in_service_to),
        mark=show(entry.car.registration),
        pence=entry.pence,
        paid=entry.paid,
    )
