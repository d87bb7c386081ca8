"""Defects of a car: reporting one, its page, and each step until it is put right."""

from collections.abc import Callable
from decimal import Decimal
from typing import NamedTuple

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import form_page, go_on, posted, posted_files
from config.http import read_or_write
from fleet import actions, queries
from fleet.core.defects import CONSEQUENCES, Severity
from fleet.costs import cost_book
from fleet.forms import CloseForm, DefectForm, ReassessForm, ReopenForm, TakeInHandForm
from fleet.models import Defect, DefectState, DefectStep
from instructors.access import MemberRequest
from instructors.models import Member


class StepRow(NamedTuple):
    """One step in a defect's history; ``cost`` in pounds, shown only to the member who logged it."""

    title: str
    step: DefectStep
    cost: Decimal | None


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
def defect(request: MemberRequest, pk: int) -> HttpResponse:
    """One defect: its state, what follows from it, its history, and what can be done next."""
    defect = queries.defect_for(request.user, pk)
    context = {
        "defect": defect,
        "point": queries.point_words_of(defect),
        "is_open": defect.state != DefectState.CLOSED,
        "is_in_hand": defect.state == DefectState.IN_HAND,
        "stops_car": Severity(defect.severity).stops_car,
        "consequence": CONSEQUENCES[Severity(defect.severity)],
        "steps": _history(defect, request.user),
    }
    return render(request, "fleet/defect.html", context)


def _history(defect: Defect, member: Member) -> list[StepRow]:
    steps = queries.steps_of(defect)
    costs = cost_book().amounts(of=member, refs=[step.cost_ref for step in steps if step.cost_ref])
    before = [None, *steps]
    return [
        StepRow(_title(step, previous), step, costs.get(step.cost_ref))
        for step, previous in zip(steps, before, strict=False)
    ]


def _title(step: DefectStep, before: DefectStep | None) -> str:
    """What happened in a step, by what changed from the one before."""
    if before is None:
        return f"Reported. {step.get_severity_display()}"
    if step.severity != before.severity:
        return f"Reassessed. {step.get_severity_display()}"
    if step.state == DefectState.OPEN:
        return "Reopened"
    return step.get_state_display()


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
    form = ReassessForm(posted(request), defect=defect)
    told = "Recorded: how serious the defect is."
    return _step(request, "fleet/defect_reassess.html", defect, form, actions.reassess_defect, told)


@read_or_write
def defect_close(request: MemberRequest, pk: int) -> HttpResponse:
    """Record that a defect was put right, and for the car's keeper what it cost."""
    defect = queries.defect_for(request.user, pk)
    is_keeper = defect.car.keeper == request.user
    form = CloseForm(posted(request), today=timezone.localdate(), is_keeper=is_keeper)
    return _step(request, "fleet/defect_close.html", defect, form, actions.close_defect, "Recorded: it was put right.")


@read_or_write
def defect_reopen(request: MemberRequest, pk: int) -> HttpResponse:
    """Reopen a closed defect."""
    defect = queries.defect_for(request.user, pk)
    form = ReopenForm(posted(request))
    told = "Recorded: it is open again."
    return _step(request, "fleet/defect_reopen.html", defect, form, actions.reopen_defect, told, of_closed=True)


def _step(
    request: MemberRequest,
    template: str,
    defect: Defect,
    form: forms.Form,
    act: Callable[..., Defect],
    told: str,
    *,
    of_closed: bool = False,
) -> HttpResponse:
    """Ask for one step and take it, or go back to the defect if it is already there.

    A step that needs an open defect is refused by its action if the defect was closed meanwhile.
    """
    is_there_already = of_closed != (defect.state == DefectState.CLOSED)
    if is_there_already and (of_closed or request.method != "POST"):
        if request.method == "POST":
            words = "It is already open: nothing was added."
            return go_on(request, words, "fleet:defect", defect.pk, level=messages.INFO)
        return redirect("fleet:defect", defect.pk)

    def save() -> HttpResponse:
        act(by=request.user, defect=defect, **form.cleaned_data)
        return go_on(request, told, "fleet:defect", defect.pk)

    return form_page(request, template, form, save, {"defect": defect})
