"""What is wrong with a car: reported, taken in hand, judged anew, put right, opened again.

Each of these leaves a ``DefectStep``; none is ever taken away. The car is locked first, then the defect.
"""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from config import budgets, showing
from config.history import lock, put, save_as
from fleet.actions.acts import note_act, queue_mail
from fleet.actions.odometer import lock_car, refuse_future
from fleet.actions.photos import keep_photo
from fleet.core.defects import Severity, comes_to_stop
from fleet.costs import WorkCost, cost_book
from fleet.models import Car, Defect, DefectState, DefectStep, FoundBy, MailKind, WalkaroundCheck
from instructors.models import Member
from instructors.queries import coordinators


@transaction.atomic
def report_defect(
    *,
    by: Member,
    car: Car,
    ref: str,
    severity: str,
    description: str,
    found_on: date,
    found_by: str = FoundBy.OTHER,
    point: str = "",
    walkaround: WalkaroundCheck | None = None,
    picture: bytes | None = None,
) -> tuple[Defect, bool]:
    """Write down what is wrong with a car. Returns the defect and whether it is new.

    A ``ref`` sent before gives back what was reported then. ``picture`` is a JPEG of our own making. Raises
    ValidationError on the field that is wrong, and on none where too many are open.
    """
    car = lock_car(car)
    sent_before = Defect.objects.filter(reported_by=by, ref=ref).select_related("car__keeper")
    if first := sent_before.first():
        return first, False
    refuse_future("found_on", found_on)
    _refuse_too_many(car)
    defect = Defect(
        ref=ref,
        car=car,
        severity=severity,
        description=description,
        point=point,
        found_by=found_by,
        found_on=found_on,
        walkaround=walkaround,
        reported_by=by,
    )
    defect.clean_fields()
    try:
        with transaction.atomic():
            save_as(by, defect)
    except IntegrityError:  # the same reference sent at once for two cars shares no lock
        return sent_before.get(), False
    if photo := keep_photo(by=by, car=car, picture=picture, is_of_defect=True):
        defect.photo = photo
        save_as(by, defect, "photo")
    _write_step(by, defect, found_on, "defect_reported")
    return defect, True


@transaction.atomic
def take_in_hand(*, by: Member, defect: Defect, words: str = "") -> Defect:
    """Write down that somebody sees to it; it still counts as open. In hand already, nothing changes."""
    defect = _locked(defect)
    _refuse_closed(defect)
    if defect.state == DefectState.IN_HAND:
        return defect
    return _move(by, defect, timezone.localdate(), "defect_in_hand", words, state=DefectState.IN_HAND)


@transaction.atomic
def reassess_defect(*, by: Member, defect: Defect, severity: str, words: str) -> Defect:
    """Judge anew how grave an open defect is, and say in ``words`` why. The same again changes nothing."""
    defect = _locked(defect)
    _refuse_closed(defect)
    if defect.severity == severity:
        return defect
    _require_words(words, "Say what makes you judge it anew.")
    return _move(by, defect, timezone.localdate(), "defect_judged", words, severity=severity)


@transaction.atomic
def close_defect(
    *,
    by: Member,
    defect: Defect,
    closed_on: date,
    words: str,
    cost: WorkCost | None = None,
    cost_ref: str = "",
) -> Defect:
    """Write down that a defect was put right, and in ``words`` what was done.

    What it cost is logged in the cost book, once for each ``cost_ref``; only the car's keeper may give it. The
    same again changes nothing. Raises ValidationError on the field that is wrong.
    """
    refuse_future("closed_on", closed_on)
    _require_words(words, "Say what was done.")
    defect = _locked(defect)
    latest = defect.steps.latest("pk")
    if defect.state == DefectState.CLOSED and (latest.happened_on, latest.words, latest.by) == (closed_on, words, by):
        return defect
    _refuse_closed(defect)
    if closed_on < latest.happened_on:
        raise ValidationError({"closed_on": f"It was still open on {showing.day(latest.happened_on)}."})
    if cost is not None:
        cost_book().log(by=by, car=defect.car, ref=cost_ref, cost=cost)
    kept_ref = cost_ref if cost else ""
    closed: dict[str, Any] = {"state": DefectState.CLOSED, "closed_on": closed_on}
    return _move(by, defect, closed_on, "defect_closed", words, cost_ref=kept_ref, **closed)


@transaction.atomic
def reopen_defect(*, by: Member, defect: Defect, words: str) -> Defect:
    """Open a closed defect again, and say in ``words`` why. One that is open stays as it is."""
    defect = _locked(defect)
    if defect.state != DefectState.CLOSED:
        return defect
    _require_words(words, "Say what is still wrong, or wrong again.")
    _refuse_too_many(defect.car)
    opened: dict[str, Any] = {"state": DefectState.OPEN, "closed_on": None}
    return _move(by, defect, timezone.localdate(), "defect_reopened", words, **opened)


def _locked(defect: Defect) -> Defect:
    """The row as it is now, kept from changing until this transaction ends."""
    lock_car(defect.car)
    return lock(defect, "car__keeper")


def _refuse_closed(defect: Defect) -> None:
    if defect.closed_on is not None:
        raise ValidationError(
            f"It was closed on {showing.day(defect.closed_on)}: open it again if it is still wrong.", code="closed"
        )


def _refuse_too_many(car: Car) -> None:
    """Refuse one more open defect than a car may have. Call it with the car locked."""
    if Defect.objects.filter(car=car).exclude(state=DefectState.CLOSED).count() >= budgets.OPEN_DEFECTS:
        open_now = f"This car has {budgets.OPEN_DEFECTS} open defects in the book"
        raise ValidationError(f"{open_now}: close what was put right first.", code="too_many")


def _require_words(words: str, missing: str) -> None:
    if not words:
        raise ValidationError({"words": missing})


def _move(
    by: Member, defect: Defect, day: date, event: str, words: str, *, cost_ref: str = "", **changes: Any
) -> Defect:
    """Change how the defect stands and write down the step that did it."""
    before = _standing(defect)
    put(defect, changes)
    defect.clean_fields()
    save_as(by, defect, *changes)
    _write_step(by, defect, day, event, words=words, cost_ref=cost_ref, before=before)
    return defect


def _write_step(
    by: Member,
    defect: Defect,
    day: date,
    event: str,
    *,
    words: str = "",
    cost_ref: str = "",
    before: Severity | None = None,
) -> None:
    step = DefectStep(
        defect=defect,
        state=defect.state,
        severity=defect.severity,
        happened_on=day,
        words=words,
        cost_ref=cost_ref,
        by=by,
    )
    step.clean_fields()
    step.save()
    note_act(by, defect.car, event, defect.description)
    if comes_to_stop(before, _standing(defect)):
        _tell(step)


def _standing(of: Defect | DefectStep) -> Severity | None:
    """How grave the defect is, or was after that step, while it is not closed; None once it is."""
    return None if of.state == DefectState.CLOSED else Severity(of.severity)


def tell_new_keeper(car: Car) -> None:
    """Mail whoever keeps the car now each open defect for which it must not be used for lessons."""
    for defect in Defect.objects.filter(car=car).exclude(state=DefectState.CLOSED).order_by("pk"):
        if Severity(defect.severity).stops_car:
            _queue_news(_stopping_step(defect), car.keeper)


def _stopping_step(defect: Defect) -> DefectStep:
    """The step by which a defect that stops its car last came to stop it."""
    steps = list(defect.steps.all())
    before = [None, *map(_standing, steps)]
    return [step for step, was in zip(steps, before, strict=False) if comes_to_stop(was, _standing(step))][-1]


def _tell(step: DefectStep) -> None:
    """Mail the keeper and every coordinator that the car must not be used for lessons."""
    today, keeper = timezone.localdate(), step.defect.car.keeper
    told = {member.pk: member for member in coordinators(today)}
    if keeper.belongs_on(today):
        told[keeper.pk] = keeper
    for member in told.values():
        _queue_news(step, member)


def _queue_news(step: DefectStep, to: Member) -> None:
    queue_mail(to=to, kind=MailKind.DEFECT, about=f"defect-{step.pk}")
