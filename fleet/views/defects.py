"""Defects of a car: reporting one, its page, and each step until it is put right."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import NamedTuple

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.compression import holds_a_secret
from config.form_page import form_page, go_on, posted, posted_files
from config.http import read_or_write
from config.whole_files import may_be_there
from fleet import actions, queries
from fleet.core.defects import CONSEQUENCES, Severity
from fleet.costs import cost_book
from fleet.forms import CloseForm, DefectForm, ReassessForm, ReopenForm, TakeInHandForm
from fleet.models import Defect, DefectState, DefectStep
from fleet.queries import StepKind
from fleet.views.second_member import WAITS, waiting_step
from instructors.access import MemberRequest
from instructors.models import Member


class StepRow(NamedTuple):
    """One step in a defect's history; ``cost`` in pounds, shown only to the member who logged it."""

    title: str
    step: DefectStep
    cost: Decimal | None


_TITLES = {
    StepKind.REPORTED: "Reported. {severity}",
    StepKind.RAISED: "Reassessed. {severity}",
    StepKind.LOWERED: "Reassessed. {severity}",
    StepKind.IN_HAND: DefectState.IN_HAND.label,
    StepKind.DENIED: "Not put right",
    StepKind.REOPENED: "Reopened",
}


@read_or_write
def defect_report(request: MemberRequest, mark: str) -> HttpResponse:
    """Report something that is wrong with a car."""
    car = queries.car_for(request.user, mark)
    form = DefectForm(posted(request), posted_files(request), today=timezone.localdate())

    def save() -> HttpResponse:
        defect, is_new = actions.report_defect(by=request.user, car=car, **form.cleaned_data)
        return go_on(request, _told(defect, is_new=is_new), "fleet:defect", defect.pk)

    return form_page(request, "fleet/defect_report.html", form, save, {"car": car})


def _told(defect: Defect, *, is_new: bool) -> str:
    if not is_new:
        return "This is already in the book: nothing was added."
    if Severity(defect.severity).stops_car:
        return "Recorded. The keeper and the coordinators are told by e-mail."
    return "Recorded."


@require_safe
@holds_a_secret
def defect(request: MemberRequest, pk: int) -> HttpResponse:
    """One defect: its state, what follows from it, its history, and what can be done next."""
    defect = queries.defect_for(request.user, pk)
    steps = queries.steps_of(defect)
    context = {
        "defect": defect,
        "point": queries.point_words_of(defect),
        "is_open": defect.state != DefectState.CLOSED,
        "is_in_hand": defect.state == DefectState.IN_HAND,
        "stops_car": Severity(defect.severity).stops_car,
        "consequence": CONSEQUENCES[Severity(defect.severity)],
        "steps": _history(steps, request.user),
        "photo_is_lost": defect.photo is not None and not may_be_there(defect.photo.image),
        "waiting": waiting_step(steps[-1], request.user) if defect.state == DefectState.WAITING else None,
    }
    return render(request, "fleet/defect.html", context)


def _history(steps: Sequence[DefectStep], member: Member) -> list[StepRow]:
    costs = cost_book().amounts(of=member, refs=[step.cost_ref for step in steps if step.cost_ref])
    kinds = queries.kinds_of(steps)
    return [
        StepRow(_title(step, kind), step, costs.get(step.cost_ref)) for step, kind in zip(steps, kinds, strict=True)
    ]


def _title(step: DefectStep, kind: StepKind) -> str:
    """What happened in a step."""
    if kind in _TITLES:
        return _TITLES[kind].format(severity=step.get_severity_display())
    ended = "Closed" if step.state == DefectState.CLOSED else step.get_severity_display()
    if kind is StepKind.WAITS:
        claimed = step.get_becomes_display() if step.becomes else "Put right"
        return f"{claimed}? Waits for a second member"
    return f"{ended}: confirmed" if kind is StepKind.CONFIRMED else ended


@read_or_write
def defect_take_in_hand(request: MemberRequest, pk: int) -> HttpResponse:
    """Record that somebody is dealing with a defect."""
    defect = queries.defect_for(request.user, pk)
    form = TakeInHandForm(posted(request))
    told = "Recorded: it is being worked on. It counts as open until it is put right."
    return _step(request, "fleet/defect_take_in_hand.html", defect, form, actions.take_in_hand, told)


@read_or_write
def defect_reassess(request: MemberRequest, pk: int) -> HttpResponse:
    """Change how serious an open defect is."""
    defect = queries.defect_for(request.user, pk)
    form = ReassessForm(posted(request), posted_files(request), defect=defect, today=timezone.localdate())
    told = "Recorded: how serious the defect is."
    return _step(request, "fleet/defect_reassess.html", defect, form, actions.reassess_defect, told)


@read_or_write
def defect_close(request: MemberRequest, pk: int) -> HttpResponse:
    """Record that a defect was put right, and for the car's keeper what it cost."""
    defect = queries.defect_for(request.user, pk)
    today, is_keeper = timezone.localdate(), defect.car.keeper == request.user
    latest = queries.steps_of(defect)[-1]
    is_said = latest.state == DefectState.WAITING and not latest.becomes
    form = CloseForm(
        posted(request),
        posted_files(request),
        defect=defect,
        today=today,
        is_keeper=is_keeper,
        said=latest if is_said else None,
    )
    return _step(request, "fleet/defect_close.html", defect, form, actions.close_defect, "Recorded: it was put right.")


@read_or_write
def defect_reopen(request: MemberRequest, pk: int) -> HttpResponse:
    """Reopen a closed defect, or say of one that waits for a second member that it is not put right."""
    defect = queries.defect_for(request.user, pk)
    form = ReopenForm(posted(request))
    told = "Recorded: it is open again."
    return _step(request, "fleet/defect_reopen.html", defect, form, actions.reopen_defect, told, of_ended=True)


def _step(
    request: MemberRequest,
    template: str,
    defect: Defect,
    form: forms.Form,
    act: Callable[..., Defect],
    told: str,
    *,
    of_ended: bool = False,
) -> HttpResponse:
    """Ask for one step and take it, or go back to the defect if it is already there.

    A step that needs an open defect is refused by its action if the defect was closed meanwhile. ``of_ended`` is one
    that needs a defect that is closed, or is said to be put right.
    """
    is_ended = defect.state == DefectState.CLOSED or (of_ended and defect.state == DefectState.WAITING)
    is_there_already = of_ended != is_ended
    if is_there_already and (of_ended or request.method != "POST"):
        if request.method == "POST":
            words = "It is already open: nothing was added."
            return go_on(request, words, "fleet:defect", defect.pk, level=messages.INFO)
        return redirect("fleet:defect", defect.pk)

    def save() -> HttpResponse:
        became = act(by=request.user, defect=defect, **form.cleaned_data)
        if became.state == DefectState.WAITING:
            return go_on(request, WAITS, "fleet:defect", defect.pk, level=messages.WARNING)
        return go_on(request, told, "fleet:defect", defect.pk)

    is_waiting = defect.state == DefectState.WAITING
    return form_page(request, template, form, save, {"defect": defect, "is_waiting": is_waiting})
