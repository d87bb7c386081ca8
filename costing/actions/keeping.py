"""What every write shares: the lock on the car, whose it may be, and the history it leaves."""

from collections.abc import Collection

from django.core.exceptions import ValidationError

from costing.models import Agreement, Entry, Valuation
from fleet.models import Car
from instructors.models import Member


def locked_car(car: Car) -> Car:
    """The car as it is now, locked until the transaction ends: writes on one car come one after the other."""
    return Car.objects.select_for_update(of=("self",)).get(pk=car.pk)


def require_keeper(car: Car, by: Member) -> None:
    """Refuse whoever does not keep the car."""
    if car.keeper_id != by.pk:
        raise ValidationError({"car": "Only the car's keeper logs on it."}, code="not_keeper")


def require_own(row: Entry | Agreement | Valuation, by: Member) -> None:
    """Raise PermissionError for anybody else's record: views answer 404 long before."""
    if row.member_id != by.pk:
        raise PermissionError("a record is changed by whoever made it")


def keep(row: Entry | Agreement | Valuation, *, by: Member, reason: str, fields: Collection[str] | None = None) -> None:
    """Save a new row, or ``fields`` of an old one; its history says who did it and why."""
    row._history_user = by  # type: ignore[union-attr]  # both are read by the history when the row is saved
    row._change_reason = reason[:100]  # type: ignore[union-attr]
    row.save(update_fields=fields)
