"""Writes the new rows of an archive into the book, with their history. The caller holds the transaction."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import Model

from config.history import add_all
from costing.archive.completions import items_of
from costing.archive.condition import COMPLETIONS, DEFECT_STEPS, DEFECTS
from costing.archive.found_right import FOUND_RIGHT, add_to_the_book, reasons_by_ref
from costing.archive.pictures import Taken
from costing.archive.reading import FileRow
from costing.archive.receipts import RECEIPTS
from costing.archive.recorded import cover_ends, recorded
from costing.archive.repeats import REPEATS, link_repeats
from costing.archive.settled import SETTLED, link_settled
from costing.archive.table import Table
from costing.archive.tables import AGREEMENTS, COOPERATIVE, COSTS, FILLS, MEMBERS, TABLE_OF, TEACHING, VALUATIONS
from costing.models import Agreement, CostEntry, Fill, Repeat, SettledDue, Valuation
from fleet.actions import PAID_IN_ARCHIVE
from fleet.models import Defect, DefectStep, DueItem, WalkaroundCheck
from fleet.queries import every_car, keeper_on, keeperships_of_cars
from instructors.actions import load_members, load_settings
from instructors.models import Member
from instructors.queries import everybody

_FROM_FILE = "Loaded from an archive"
_DONE_FOR_GOOD = "Done for good, by a completion that was loaded from an archive"
_BATCH = 2000
_ENTRIES = (COSTS, FILLS, TEACHING)

#: By field of a model, the objects that a row of a file may name there; for money of keepers, their times by car too.
_Named = Mapping[str, Mapping[Any, Any]]


def write(new: Mapping[str, list[FileRow]], taken: Taken) -> int:
    """Add the rows that ``check`` found to be new. Return how many due items were added for cover alone."""
    right = reasons_by_ref(new.get(FOUND_RIGHT.file, ()))
    for file, rows in new.items():
        table = TABLE_OF[file]
        if not rows or table in (COMPLETIONS, RECEIPTS, FOUND_RIGHT):
            continue
        if table is COOPERATIVE:
            load_settings(_given(rows[0]))
        elif table is MEMBERS:
            load_members([Member(**_given(row)) for row in rows])
        else:
            _create_rows(table, rows, right if table in _ENTRIES else {})
    add_to_the_book(right, _FROM_FILE)
    if new.get(COSTS.file) or new.get(REPEATS.file):
        link_repeats()
    if new.get(SETTLED.file):
        link_settled()
    from_cover = _add_dues_of_cover(new.get(COSTS.file, []))
    # Completions come last: they need their due items, and some of them create their own.
    _write_completions(new.get(COMPLETIONS.file, []))
    _write_first_steps(new.get(DEFECTS.file, []))
    _write_receipts(new.get(RECEIPTS.file, []), taken)
    return from_cover


def _given(row: FileRow) -> dict[str, Any]:
    """Return the row's values without empty ones, for which the model has its own default."""
    return {name: value for name, value in row.values.items() if value is not None}


def _create_rows(table: Table, rows: Sequence[FileRow], right: Mapping[str, set[str]]) -> None:
    named = _by_name(table)
    # Steps are written in the order of their numbers, because the book numbers them by it; other rows as they come.
    ordered = sorted(rows, key=lambda row: row.values["number"]) if table is DEFECT_STEPS else rows
    # In batches, because instances and their history take ten times the memory of the rows.
    for start in range(0, len(ordered), _BATCH):
        instances = _instances(table, ordered[start : start + _BATCH], named)
        for one in instances if right else ():
            one.found_right = " ".join(sorted(right.get(one.ref, ())))
        _create(instances, _FROM_FILE, signed_by=_signed_by(table))


def _instances(table: Table, rows: Iterable[FileRow], named: _Named) -> list[Any]:
    instances = []
    for row in rows:
        fields: dict[str, Any] = {}
        for column in table.columns:
            value = row.values[column.name]
            field, _, of_another = column.source.partition("__")
            if value is not None and field not in table.computed and field != "due_item":
                # By its number: to hold the other row itself, and check it, takes Django as long as all the rest.
                fields |= {f"{field}_id": named[field][value].pk} if of_another else {field: value}
        instances.append(_with_people(table, table.model(**fields), row, named))
    return instances


def _by_name(table: Table) -> _Named:
    """Return, by field, the objects that a row of ``table`` may name there."""
    members = {member.email.lower(): member for member in everybody()}
    cars = {car.registration: car for car in every_car()}
    named: dict[str, Mapping[Any, Any]] = dict.fromkeys(
        ("member", "keeper", "registered_keeper", "reported_by", "recorded_by", "by"), members
    ) | {"car": cars}
    if table in (AGREEMENTS, VALUATIONS):
        named["times"] = keeperships_of_cars([car.pk for car in cars.values()])
    if table is SETTLED:
        named["cost"] = CostEntry.objects.only("ref", "member").in_bulk(field_name="ref")
        named["repeat"] = Repeat.objects.only("ref").in_bulk(field_name="ref")
    if table is DEFECTS:
        named["walkaround"] = {check.ref: check for check in WalkaroundCheck.objects.all()}
    if table is DEFECT_STEPS:
        named["defect"] = {defect.ref: defect for defect in Defect.objects.select_related("car__keeper")}
    return named


def _with_people(table: Table, instance: Any, row: FileRow, named: _Named) -> Any:
    """Give the instance its member if the file names none, and its doer."""
    if isinstance(instance, Agreement | Valuation):
        # Their files name no member, because it is the money of whoever kept the car on that day.
        day = instance.starts_on if isinstance(instance, Agreement) else instance.valued_on
        instance.member_id = keeper_on(named["times"][instance.car_id], day)
    if isinstance(instance, SettledDue):
        instance.member_id = named["cost"][row.values["cost_ref"]].member_id
    for column in table.columns:
        if column.is_doer:
            field, _, _ = column.source.partition("__")
            if row.values[column.name] is None and not instance._meta.get_field(field).null:
                setattr(instance, f"{field}_id", _whose(row, named).pk)
    return instance


def _signed_by(table: Table) -> str:
    """The field of whoever added a row, as its history says: its doer, else the member whose it is; "" for nobody."""
    doers = [column.source.partition("__")[0] for column in table.columns if column.is_doer]
    is_of_member = table.model is not DueItem and hasattr(table.model, "member")
    return doers[-1] if doers else "member" if is_of_member else ""


def _whose(row: FileRow, named: _Named) -> Member:
    """Return the member whom the row belongs to: the car's keeper, or the person with the credential."""
    if "defect" in named:
        return named["defect"][row.values["ref"]].car.keeper
    mark = row.values["registration"]
    return named["car"][mark].keeper if mark else named["member"][row.values["member_email"]]


def _create(instances: Sequence[Model], reason: str, *, signed_by: str = "") -> None:
    if not instances:
        return
    model = type(instances[0])
    if hasattr(model, "history"):
        add_all(instances, reason, signed_by=signed_by)
    else:
        model._default_manager.bulk_create(instances, batch_size=_BATCH)


def _write_completions(rows: Sequence[FileRow]) -> None:
    if not rows:
        return
    completions = dict(
        zip((row.line for row in rows), _instances(COMPLETIONS, rows, _by_name(COMPLETIONS)), strict=True)
    )
    items = items_of(rows)
    _create([item for item, _ in items if item.closed_on is not None], _DONE_FOR_GOOD)
    for item, of_item in items:
        for row in of_item:
            completions[row.line].due_item = item
    _create(list(completions.values()), _FROM_FILE, signed_by=_signed_by(COMPLETIONS))


def _write_receipts(rows: Sequence[FileRow], taken: Taken) -> None:
    """Write the receipts whose pictures were ``taken``, each its entry's member's."""
    costs = CostEntry.objects.in_bulk({row.values["cost_ref"] for row in rows} - {None}, field_name="ref")
    fills = Fill.objects.in_bulk({row.values["fill_ref"] for row in rows} - {None}, field_name="ref")
    for row in rows:
        receipt = taken.receipts[row.values["id"]]
        receipt.cost = costs.get(row.values["cost_ref"])
        receipt.fill = fills.get(row.values["fill_ref"])
        receipt.member_id = receipt.entry.member_id
        receipt.position = row.values["position"]
    _create([taken.receipts[row.values["id"]] for row in rows], _FROM_FILE)


def _write_first_steps(new_defects: Iterable[FileRow]) -> None:
    """Write the first step of each defect without steps in a file: its report."""
    refs = {row.values["ref"] for row in new_defects}
    reported = Defect.objects.filter(ref__in=refs, steps__isnull=True) if refs else ()
    steps = [
        DefectStep(
            defect=defect,
            state=defect.state,
            severity=defect.severity,
            happened_on=defect.found_on,
            by_id=defect.reported_by_id,
        )
        for defect in reported
    ]
    _create(steps, _FROM_FILE)


def _add_dues_of_cover(new_costs: Iterable[FileRow]) -> int:
    """Add a due item for each new cover of a car that has none of that kind, after those of the file itself."""
    loaded = cover_ends(row.values for row in new_costs)
    if not loaded:
        return 0
    ends = cover_ends(recorded(COSTS, "standing"))
    had = set(DueItem.objects.filter(car__isnull=False).values_list("car__registration", "kind"))
    cars = {car.registration: car for car in every_car()}
    dues: list[Model] = [
        DueItem(car=cars[mark], kind=kind, due_on=ends[mark, kind]) for mark, kind in sorted(loaded.keys() - had)
    ]
    _create(dues, PAID_IN_ARCHIVE)
    # A day at which the file's cost and its due item agree follows from the cost: voided, that puts it back.
    for (mark, kind), until in loaded.items():
        DueItem.history.filter(car=cars[mark], kind=kind, due_on=until, history_change_reason=_FROM_FILE).update(
            history_change_reason=PAID_IN_ARCHIVE
        )
    return len(dues)
