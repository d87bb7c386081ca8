"""Dismissing what stands out in one's own book, and taking that back."""

from django.db import transaction

from config.history import delete_as, lock, save_as
from costing.actions.entries import require_own
from costing.models import Dismissal
from fleet.actions import lock_car
from fleet.models import Car
from instructors.models import Member


@transaction.atomic
def dismiss(*, by: Member, car: Car, kind: str, key: str, reason: str) -> Dismissal:
    """Dismiss one finding in ``by``'s own book of ``car``. Dismissing it again returns the first, with its reason."""
    car = lock_car(car)
    names = {"member": by, "car": car, "kind": kind, "key": key}
    if standing := Dismissal.objects.filter(**names).first():
        return standing
    dismissal = Dismissal(**names, reason=reason)
    save_as(by, dismissal, reason="Dismissed")
    return dismissal


@transaction.atomic
def take_back(*, by: Member, dismissal: Dismissal) -> None:
    """Take back one of ``by``'s own dismissals, so that the finding is shown again; its history stays."""
    dismissal = lock(dismissal)
    require_own(dismissal, by)
    delete_as(by, dismissal)
