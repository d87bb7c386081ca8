"""The new rows of an archive into the book, with their history. Whoever calls holds the transaction."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import Model
from simple_history.utils import bulk_create_with_history

from costing.archive.cover import cover_ends
from costing.archive.reading import Row
from costing.archive.recorded import recorded
from costing.archive.tables import COOPERATIVE, COSTS, MEMBERS, TABLE_OF, Table
from costing.models import Agreement, Valuation
from fleet.models import Car, DueItem
from instructors.models import Cooperative, Member

_FROM_FILE = "Loaded from an archive"
_FROM_COVER = "Taken from the cover of a cost entry that was loaded from an archive"
_BATCH = 2000


def write(new: Mapping[str, list[Row]]) -> int:
    """Add the rows that ``check`` found to be new; returns how many due items were added for cover alone."""
    for file, rows in new.items():
        table = TABLE_OF[file]
        if not rows:
            continue
        if table is COOPERATIVE:
            _write_settings(rows[0])
        elif table is MEMBERS:
            _write_members(rows)
        else:
            _create(_instances(table, rows), _FROM_FILE)
    return _add_dues_of_cover(new.get(COSTS.file, []))


def _write_settings(row: Row) -> None:
    Cooperative.objects.update_or_create(pk=Cooperative.ONLY_ID, defaults=_given(row))


def _write_members(rows: Iterable[Row]) -> None:
    members = [Member(**_given(row)) for row in rows]
    for member in members:
        member.set_unusable_password()  # an archive holds no passwords: they sign in by e-mailed code
    Member.objects.bulk_create(members, batch_size=_BATCH)


def _given(row: Row) -> dict[str, Any]:
    """What the row says; where it says nothing, the model has its own word for that."""
    return {name: value for name, value in row.values.items() if value is not None}


def _instances(table: Table, rows: Iterable[Row]) -> list[Model]:
    members = {member.email.lower(): member for member in Member.objects.all()}
    cars = {car.registration: car for car in Car.objects.select_related("keeper")}
    named: dict[str, Mapping[str, Model]] = {"member": members, "keeper": members, "car": cars}
    instances = []
    for row in rows:
        fields: dict[str, Any] = {}
        for column in table.columns:
            value = row.values[column.name]
            field, _, of_another = column.source.partition("__")
            if value is not None:
                fields[field] = named[field][value] if of_another else value
        instances.append(_with_owner(table.model(**fields)))
    return instances


def _with_owner(instance: Any) -> Model:
    if isinstance(instance, Agreement | Valuation):
        # Their files name no member: it is the keeper's money.
        instance.member = instance.car.keeper
    if not isinstance(instance, DueItem) and hasattr(instance, "member"):
        instance._history_user = instance.member
    return instance


def _create(instances: list[Model], reason: str) -> None:
    if instances:
        model = type(instances[0])
        bulk_create_with_history(instances, model, batch_size=_BATCH, default_change_reason=reason)


def _add_dues_of_cover(new_costs: Iterable[Row]) -> int:
    """A due item for each new cover of a car that has none of that kind; its file's own rows come first."""
    loaded = cover_ends(row.values for row in new_costs)
    if not loaded:
        return 0
    ends = cover_ends(recorded(COSTS, "standing"))
    had = set(DueItem.objects.filter(car__isnull=False).values_list("car__registration", "kind"))
    cars = {car.registration: car for car in Car.objects.all()}
    dues: list[Model] = [
        DueItem(car=cars[mark], kind=kind, due_on=ends[mark, kind]) for mark, kind in sorted(loaded.keys() - had)
    ]
    _create(dues, _FROM_COVER)
    return len(dues)
