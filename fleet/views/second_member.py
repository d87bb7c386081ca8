"""A second member answers whether a danger is over, at a secret address for that one defect."""

from typing import NamedTuple

from django.http import HttpResponse

from config.compression import holds_a_secret
from config.form_page import form_page, go_on, posted
from config.http import address_is_secret, read_or_write
from config.site import address_of
from fleet import actions, queries
from fleet.core.defects import Severity
from fleet.forms import SecondForm
from fleet.models import DefectState, DefectStep
from fleet.queries import StepKind
from instructors.access import MemberRequest
from instructors.models import Member

#: What is said when a danger is recorded as over without a photo of the paper.
WAITS = "Recorded. The car stays off the road until a second member confirms it: the coordinators are asked by e-mail."


class WaitingStep(NamedTuple):
    """A step that waits for a second member: the ``link`` at which they answer, and whether the viewer recorded it."""

    step: DefectStep
    becomes: str
    link: str
    secret: str
    is_own: bool


def waiting_step(step: DefectStep, viewer: Member) -> WaitingStep:
    """What a page shows of a step that waits."""
    secret = queries.secret_of(step)
    becomes = Severity(step.becomes).words if step.becomes else ""
    return WaitingStep(step, becomes, address_of("fleet:defect-confirm", secret), secret, step.by == viewer)


@address_is_secret
@holds_a_secret
@read_or_write
def defect_confirm(request: MemberRequest, token: str) -> HttpResponse:
    """One defect that is said to be put right: any member but whoever recorded it says whether it is.

    Once that is settled, the page tells only how.
    """
    step = queries.step_by(token)
    form = SecondForm(posted(request))

    def save() -> HttpResponse:
        words = form.cleaned_data["words"]
        if form.cleaned_data["answer"] == form.YES:
            actions.confirm_repair(by=request.user, step=step, words=words)
            return go_on(request, "Recorded: you have seen it. Thank you.", "fleet:defect-confirm", token)
        actions.deny_repair(by=request.user, step=step, words=words)
        return go_on(request, "Recorded: it is not put right. Thank you.", "fleet:defect-confirm", token)

    def context() -> dict[str, object]:
        answer = queries.answer_to(step)
        return {
            "defect": step.defect,
            "waiting": waiting_step(step, request.user),
            "answer": answer,
            "outcome": _outcome(answer, step, request.user) if answer else "",
        }

    return form_page(request, "fleet/defect_confirm.html", form, save, context)


def _outcome(answer: DefectStep, step: DefectStep, viewer: Member) -> str:
    """What became of a step that waited."""
    kind = queries.kind_of_step(answer, step)
    if kind is StepKind.CONFIRMED:
        return "You have confirmed it." if answer.by == viewer else f"{answer.by.name} has confirmed it."
    if kind is StepKind.DENIED:
        return f"{answer.by.name} says that it is not put right: the car stays off the road."
    if answer.state == DefectState.WAITING:
        return f"{answer.by.name} has recorded it anew: ask for the newest link."
    return f"{answer.by.name} has recorded it with a photo of the paper."
