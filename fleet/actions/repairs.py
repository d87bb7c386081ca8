"""Defects put right or found less serious: what was done, by whom and when, and what shows it.

A danger ends only with a photo of the paper or with a second member who has seen it: until then the defect waits, and
counts as open.
"""

from datetime import date
from typing import Any, NamedTuple

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config import showing
from fleet.actions.defect_steps import locked_defect, move, refuse_closed, require_words
from fleet.actions.defects import reopen_defect
from fleet.actions.odometer import refuse_future
from fleet.actions.photos import keep_photo
from fleet.core.defects import Severity, is_relief, needs_evidence
from fleet.costs import WorkCost, cost_book
from fleet.models import Defect, DefectState, DefectStep, Evidence
from instructors.models import Member


class _Repair(NamedTuple):
    """What was done, by which garage or person, and on which day; ``picture`` is a JPEG of the paper."""

    words: str
    done_by: str
    done_on: date
    picture: bytes | None
    cost_ref: str = ""


@transaction.atomic
def close_defect(
    *,
    by: Member,
    defect: Defect,
    closed_on: date,
    words: str,
    done_by: str = "",
    picture: bytes | None = None,
    cost: WorkCost | None = None,
    cost_ref: str = "",
) -> Defect:
    """Record that a defect was put right: in ``words`` what was done, and ``done_by`` which garage or person.

    A dangerous one without ``picture`` only waits for a second member. What it cost is logged in the cost book, once
    for each ``cost_ref``; only the car's keeper may give it. The same again changes nothing. Raises ValidationError on
    the field that is wrong.
    """
    refuse_future("closed_on", closed_on)
    require_words(words, "Say what was done.")
    defect = locked_defect(defect)
    latest = defect.steps.latest("pk")
    told = (closed_on, words, done_by, by)
    is_same = (latest.happened_on, latest.words, latest.done_by, latest.by) == told
    if is_same and (defect.state == DefectState.CLOSED or (defect.state == DefectState.WAITING and not picture)):
        return defect
    refuse_closed(defect)
    _check(defect, None, done_by, closed_on, field="closed_on")
    if cost is not None:
        cost_book().log(by=by, car=defect.car, ref=cost_ref, cost=cost)
    return _relieve(by, defect, None, _Repair(words, done_by, closed_on, picture, cost_ref if cost else ""))


@transaction.atomic
def reassess_defect(
    *,
    by: Member,
    defect: Defect,
    severity: str,
    words: str,
    done_by: str = "",
    done_on: date | None = None,
    picture: bytes | None = None,
) -> Defect:
    """Change how serious an open defect is, with the reason in ``words``. The same again changes nothing.

    To find a grave one less serious, say also which garage or person says so (``done_by``) and when; a dangerous one
    without ``picture`` stays as it is and waits for a second member. Raises ValidationError on the field that is wrong.
    """
    defect = locked_defect(defect)
    refuse_closed(defect)
    if defect.severity == severity:
        return defect
    latest = defect.steps.latest("pk")
    if defect.state == DefectState.WAITING and not picture and (latest.becomes, latest.by) == (severity, by):
        return defect
    require_words(words, "Say why you are reassessing it.")
    if severity not in list(Severity) or not is_relief(Severity(defect.severity), Severity(severity)):
        move(by, defect, timezone.localdate(), "defect_judged", words, severity=severity)
        return defect
    done_on = _require_day(done_on)
    _check(defect, Severity(severity), done_by, done_on, field="done_on")
    return _relieve(by, defect, Severity(severity), _Repair(words, done_by, done_on, picture))


@transaction.atomic
def confirm_repair(*, by: Member, step: DefectStep, words: str = "") -> Defect:
    """Confirm as a second member what ``step`` says was put right; the defect is then closed, or less serious.

    The same again changes nothing. Raises ValidationError if something else has happened to it since, and for whoever
    recorded the step or has left.
    """
    defect = locked_defect(step.defect)
    latest = defect.steps.latest("pk")
    if _is_answer(latest, step, by) and latest.evidence == Evidence.MEMBER:
        return defect
    _require_second(by, step, latest)
    today = timezone.localdate()
    to: dict[str, Any] = {"state": DefectState.CLOSED, "closed_on": today}
    if step.becomes:
        to = {"state": DefectState.OPEN, "severity": step.becomes}
    move(by, defect, today, "defect_confirmed", words, step={"evidence": Evidence.MEMBER}, **to)
    return defect


@transaction.atomic
def deny_repair(*, by: Member, step: DefectStep, words: str) -> Defect:
    """Say as a second member that it is not put right, and in ``words`` what is still wrong; then it is open again.

    The same again changes nothing. Raises ValidationError as ``confirm_repair`` does.
    """
    defect = locked_defect(step.defect)
    latest = defect.steps.latest("pk")
    if _is_answer(latest, step, by) and latest.state == DefectState.OPEN and latest.words == words:
        return defect
    _require_second(by, step, latest)
    return reopen_defect(by=by, defect=defect, words=words)


def _is_answer(latest: DefectStep, step: DefectStep, by: Member) -> bool:
    """Whether the latest step is what this member answered to that step."""
    before = DefectStep.objects.filter(defect=step.defect_id, pk__lt=latest.pk).order_by("pk").last()
    return before == step and latest.by == by


def _require_second(by: Member, step: DefectStep, latest: DefectStep) -> None:
    """Raise ValidationError unless ``by`` may answer for the step now."""
    if latest != step or step.state != DefectState.WAITING:
        raise ValidationError("Something else was recorded since: ask for the newest link.", code="settled")
    if step.by == by:
        raise ValidationError("You recorded it yourself: it takes somebody else.", code="own")
    if not by.belongs_on(timezone.localdate()):
        raise ValidationError("It takes a member of the co-op.", code="left")


def _require_day(done_on: date | None) -> date:
    if done_on is None:
        raise ValidationError({"done_on": "Give the day."})
    return done_on


def _check(defect: Defect, after: Severity | None, done_by: str, done_on: date, *, field: str) -> None:
    """Raise ValidationError on whatever a repair of this defect lacks."""
    refuse_future(field, done_on)
    if is_relief(Severity(defect.severity), after):
        require_words(done_by, "Say who: the garage or the person.", "done_by")
    seen_on = defect.steps.exclude(state=DefectState.WAITING).latest("pk").happened_on
    if done_on < seen_on:
        raise ValidationError({field: f"It was still open on {showing.day(seen_on)}."})


def _relieve(by: Member, defect: Defect, after: Severity | None, repair: _Repair) -> Defect:
    """Close the locked defect (``after`` None) or make it less serious; a danger without a picture only waits."""
    is_danger = needs_evidence(Severity(defect.severity), after)
    step: dict[str, Any] = {"done_by": repair.done_by, "cost_ref": repair.cost_ref}
    if is_danger and not repair.picture:
        step["becomes"] = after.value if after else ""
        move(by, defect, repair.done_on, "defect_waits", repair.words, step=step, state=DefectState.WAITING)
        return defect
    to: dict[str, Any] = {"state": DefectState.CLOSED, "closed_on": repair.done_on}
    if after is not None:
        was_waiting = defect.state == DefectState.WAITING
        to = {"severity": after.value, "state": DefectState.OPEN if was_waiting else defect.state}
    if is_danger:
        step["evidence"] = Evidence.PHOTO
    event = "defect_judged" if after else "defect_closed"
    written = move(by, defect, repair.done_on, event, repair.words, step=step, **to)
    if is_danger:
        # Last: a file does not go away again if the rest is refused.
        written.photo = keep_photo(by=by, car=defect.car, picture=repair.picture, is_of_defect=True)
        written.save(update_fields=["photo"])
    return defect
