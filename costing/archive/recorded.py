"""What the book holds, as the rows that its archive would have: to compare with one, and to write one."""

from collections.abc import Callable, Iterator
from typing import Any, Literal

from django.db.models import Q

from costing.archive.table import Table
from instructors.models import Member

Values = dict[str, Any]
Which = Literal["standing", "dropped", "all"]


def recorded(table: Table, which: Which = "all", *, owner: Member | None = None) -> Iterator[Values]:
    """The book's rows of ``table`` in no order, one query in all; only ``owner``'s if one is given."""
    rows = table.model._default_manager.order_by()
    if which != "all" and table.dropped_at:
        rows = rows.filter(**{f"{table.dropped_at}__isnull": which == "standing"})
    if owner is not None and table.owners:
        rows = rows.filter(_owned_by(owner, table.owners))
    # After the filter: what a row is numbered among belongs to one member as a whole.
    rows = rows.annotate(**table.computed)
    sources = [(column.name, column.kind.tidy, column.source) for column in table.columns]
    for found in rows.values_list(*(source for _, _, source in sources)).iterator(chunk_size=5000):
        yield {name: _as_read(tidy, value) for (name, tidy, _), value in zip(sources, found, strict=True)}


def key_of(table: Table, values: Values) -> tuple[Any, ...]:
    """What tells the row from every other of its file."""
    return tuple(values[column] for column in table.key)


def _as_read(tidy: Callable[[Any], Any], value: Any) -> Any:
    """The value as reading its cell would give it: an empty text is an empty cell, and so nothing."""
    value = None if value is None else tidy(value)
    return None if value == "" else value


def _owned_by(owner: Member, paths: tuple[str, ...]) -> Q:
    condition = Q()
    for path in paths:
        condition |= Q(**{path: owner.pk})
    return condition
