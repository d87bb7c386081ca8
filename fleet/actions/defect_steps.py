"""What every step of a defect has in common: it is locked, changed, written down, and told to those concerned."""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.utils import timezone

from config import budgets, showing
from config.history import lock, put, save_as
from fleet.actions.acts import note_act, queue_mail
from fleet.actions.odometer import lock_car
from fleet.models import Car, Defect, DefectState, DefectStep, MailKind
from fleet.queries import is_grave_news
from instructors.models import Member
from instructors.queries import coordinators


def locked_defect(defect: Defect) -> Defect:
    """The row as it is now, kept from changing until this transaction ends; its car is locked first."""
    lock_car(defect.car)
    return lock(defect, "car__keeper")


def refuse_closed(defect: Defect) -> None:
    """Raise ValidationError for a defect that is closed."""
    if defect.closed_on is not None:
        raise ValidationError(
            f"It was closed on {showing.day(defect.closed_on)}: reopen it if it is still wrong.", code="closed"
        )


def refuse_too_many(car: Car) -> None:
    """Refuse one more open defect than a car may have. Call it with the car locked."""
    if Defect.objects.filter(car=car).exclude(state=DefectState.CLOSED).count() >= budgets.OPEN_DEFECTS:
        open_now = f"This car has {budgets.OPEN_DEFECTS} open defects in the book"
        raise ValidationError(f"{open_now}: close those that have been put right first.", code="too_many")


def require_words(words: str, missing: str, field: str = "words") -> None:
    """Raise ValidationError with ``missing`` on the field if nothing is said."""
    if not words:
        raise ValidationError({field: missing})


def move(
    by: Member, defect: Defect, day: date, event: str, words: str = "", *, step: dict[str, Any] | None = None, **to: Any
) -> DefectStep:
    """Change the locked defect ``to`` its new values and write the step; ``step`` holds the other fields of that."""
    before = defect.steps.latest("pk")
    put(defect, to)
    defect.clean_fields()
    save_as(by, defect, *to)
    return write_step(by, defect, day, event, before=before, words=words, **step or {})


def write_step(
    by: Member,
    defect: Defect,
    day: date,
    event: str,
    *,
    before: DefectStep | None = None,
    began_with: DefectStep | None = None,
    **fields: Any,
) -> DefectStep:
    """Write down how the defect stands now. If that is grave news, mail the keeper and the coordinators.

    Steps that ``began_with`` the same step are told in the mail about that one.
    """
    step = DefectStep(
        defect=defect,
        state=defect.state,
        severity=defect.severity,
        happened_on=day,
        began_with=began_with,
        by=by,
        **fields,
    )
    step.clean_fields()
    step.save()
    note_act(by, defect.car, event, defect.description)
    if is_grave_news(step, before):
        _tell(by, defect.car, began_with or step)
    return step


def _tell(by: Member, car: Car, event: DefectStep) -> None:
    """Mail the keeper and every coordinator but whoever did it; one mail for one event and recipient."""
    today = timezone.localdate()
    told = {member.pk: member for member in coordinators(today)}
    if car.keeper.belongs_on(today):
        told[car.keeper.pk] = car.keeper
    for member in told.values():
        if member != by:
            queue_mail(to=member, kind=MailKind.DEFECT, about=f"defect-{event.pk}")
