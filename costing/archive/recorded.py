"""What the book holds, as the rows of an archive: to compare an archive with, and to write one from."""

from collections.abc import Callable, Collection, Iterable, Iterator
from datetime import date
from typing import Any, Literal

from django.db.models import Model, Q

from costing.actions.cover import cover_bought
from costing.archive.table import Table
from costing.models import CostEntry
from fleet.queries import Keepership, times_with_cars
from instructors.models import Member

Values = dict[str, Any]
Which = Literal["standing", "dropped", "all"]

#: The columns of a cost that say what cover it bought.
_COVER_COLUMNS = ("category", "amount", "covers_from", "covers_to", "ended_on")


def recorded(table: Table, which: Which = "all", *, owner: Member | None = None) -> Iterator[Values]:
    """Yield the book's rows of ``table`` in no order, by one query a model; with ``owner``, only that member's."""
    for model in (table.model, *table.also):
        for values in _recorded_of(model, table, which, owner):
            yield from _several(values, table)


def _several(values: Values, table: Table) -> Iterator[Values]:
    """Yield a row for each word of the field that has several, or the row as it is."""
    name = next((column.name for column in table.columns if table.several and column.source == table.several), None)
    if name is None:
        yield values
    else:
        yield from (values | {name: word} for word in values[name].split())


def _recorded_of(model: type[Model], table: Table, which: Which, owner: Member | None) -> Iterator[Values]:
    rows = model._default_manager.order_by()
    if table.several:
        rows = rows.exclude(**{table.several: ""})
    if which == "standing":
        rows = rows.filter(_stands(table))
    elif which == "dropped":
        rows = rows.exclude(_stands(table))
    own_times = times_with_cars(owner, from_the_first=table.has_early_days) if owner and table.is_of_keepers else {}
    if owner is not None:
        rows = rows.filter(_owned_by(owner, table, own_times))
    # This comes after the filter: all the rows that are numbered together belong to one member.
    rows = rows.annotate(**table.computed)
    sources = [(column.name, column.kind.tidy, column.source) for column in table.columns]
    for found in rows.values_list(*(source for _, _, source in sources)).iterator(chunk_size=5000):
        values = {name: _as_read(tidy, value) for (name, tidy, _), value in zip(sources, found, strict=True)}
        if owner is None or not table.kept_on or _is_in(own_times[values["registration"]], values[table.kept_on]):
            yield values


def key_of(table: Table, values: Values) -> tuple[Any, ...]:
    """Return what tells a row from every other row of its file."""
    return tuple(values[column] for column in table.key)


def _as_read(tidy: Callable[[Any], Any], value: Any) -> Any:
    """Return the value as reading its cell would give it: an empty text is an empty cell, which is None."""
    value = None if value is None else tidy(value)
    return None if value == "" else value


def _stands(table: Table) -> Q:
    """Return the condition for the rows of ``table`` that count; without any field that says so, all do."""
    return Q(**{f"{path}__isnull": True for path in (table.dropped_at, *table.dropped_with) if path})


def _owned_by(owner: Member, table: Table, marks: Collection[str]) -> Q:
    """Return the condition for the rows of ``owner``, who keeps or kept the cars with these ``marks``."""
    condition = Q()
    for path in table.owners:
        condition |= Q(**{path: owner.pk})
    if table.is_of_keepers:
        mark = next(column.source for column in table.columns if column.name == "registration")
        condition &= Q(**{f"{mark}__in": marks})
    return condition


def _is_in(times: Iterable[Keepership], day: date) -> bool:
    return any(time.holds(day) for time in times)


def cover_ends(costs: Iterable[Values]) -> dict[tuple[str, str], date]:
    """Return the last day covered by registration mark and kind of due item.

    Insurance, vehicle tax and breakdown cover run until what was paid for ends.
    """
    ends: dict[tuple[str, str], date] = {}
    for cost in costs:
        cover = cover_bought(CostEntry(**{name: cost[name] for name in _COVER_COLUMNS}))
        if cover is not None:
            car_and_kind = (cost["registration"], cover.kind)
            ends[car_and_kind] = max(cover.until, ends.get(car_and_kind, cover.until))
    return ends
