"""Entering something that falls due: on a car, or of one's own."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from fleet import actions, queries
from fleet.core.due_kinds import DUE_KINDS
from fleet.forms import DueItemForm
from fleet.models import Car
from fleet.queries import DueLine
from fleet.views.due_items import home_of
from instructors.access import MemberRequest


@read_or_write
def due_item_add(request: MemberRequest, mark: str) -> HttpResponse:
    """Enter something that falls due on a car: first which kind, then when."""
    car = queries.car_for(request.user, mark)
    report = queries.due_report(timezone.localdate(), cars=[car])
    return _add(request, report.lines(), car)


@read_or_write
def credential_add(request: MemberRequest) -> HttpResponse:
    """Enter a credential of one's own."""
    report = queries.due_report(timezone.localdate(), members=[request.user])
    return _add(request, report.lines(), None)


def _add(request: MemberRequest, lines: list[DueLine], car: Car | None) -> HttpResponse:
    """Ask for the kind if the address names none, else for its terms; ``lines`` is what stands there."""
    kinds = [kind for kind in DUE_KINDS.values() if kind.belongs_to("car" if car else "member")]
    by_kind = {line.kind.name: line for line in lines}
    recorded = {name for name, line in by_kind.items() if line.item_id is not None}
    kind = next((kind for kind in kinds if kind.name == request.GET.get("kind")), None)
    if kind is None:
        kinds = [kind for kind in kinds if kind.name not in recorded]
        return render(request, "fleet/due_item_kind.html", {"kinds": kinds, "car": car})
    line = by_kind.get(kind.name)
    if line and line.item_id is not None and request.method != "POST":
        return redirect("fleet:due-item-correct", line.item_id)
    form = DueItemForm(
        posted(request),
        kind=kind,
        of_car=car is not None,
        today=timezone.localdate(),
        initial={"due_on": line.status.due_on if line else None, "every_months": kind.usual_months},
    )

    def save() -> HttpResponse:
        member = None if car else request.user
        item = actions.add_due_item(by=request.user, kind=kind.name, car=car, member=member, **form.cleaned_data)
        return go_on(request, f"{kind.words} is in the book.", home_of(item, request.user))

    return form_page(request, "fleet/due_item_add.html", form, save, {"kind": kind, "car": car})
