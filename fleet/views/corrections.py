"""A check or a completion that was entered wrongly: corrected or voided, with its history on the page."""

from django.http import HttpResponse
from django.utils import timezone

from config.changes import VoidForm, changes_of
from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.showing import day, whole
from fleet import actions, queries
from fleet.forms import CheckCorrectForm, CompletionCorrectForm
from fleet.models import DueItem
from fleet.queries import AfterVoid
from fleet.views.due_items import home_of, item_page
from instructors.access import MemberRequest


def _points(names: list[str]) -> str:
    return f"{len(names)} point{'s' if len(names) > 1 else ''}"


@read_or_write
def check_correct(request: MemberRequest, pk: int) -> HttpResponse:
    """Correct the day, the points or the note of a check; its history stands below the form."""
    check = queries.check_for(request.user, pk)
    words = {point.name: point.words for point in queries.own_points()}
    form = CheckCorrectForm(posted(request), check=check, words=words, today=timezone.localdate())

    def save() -> HttpResponse:
        corrected = actions.correct_check(by=request.user, check=check, **form.cleaned_data)
        told = f"Corrected: the check of {day(corrected.checked_on)}, {_points(corrected.points)}."
        return go_on(request, told, "fleet:check-list", check.car.registration)

    history = changes_of(check, {"points": _points}, untold=["is_whole", "seconds"])
    context = {"check": check, "car": check.car, "history": history}
    return form_page(request, "fleet/check_correct.html", form, save, context)


@read_or_write
def check_void(request: MemberRequest, pk: int) -> HttpResponse:
    """Void a check, once the member has said why."""
    check = queries.check_for(request.user, pk)
    form = VoidForm(posted(request))

    def save() -> HttpResponse:
        actions.void_check(by=request.user, check=check, **form.cleaned_data)
        told = f"Voided: the check of {day(check.checked_on)}. It no longer counts."
        return go_on(request, told, "fleet:check-list", check.car.registration)

    context = {"check": check, "car": check.car}
    return form_page(request, "fleet/check_void.html", form, save, context)


@read_or_write
def completion_correct(request: MemberRequest, pk: int) -> HttpResponse:
    """Correct the day, the odometer or the note of something that was done; its history stands below the form."""
    completion = queries.completion_for(request.user, pk)
    item = completion.due_item
    today = timezone.localdate()
    form = CompletionCorrectForm(posted(request), completion=completion, today=today)
    form.put_odometer(request.user, item.car, today)

    def save() -> HttpResponse:
        corrected = actions.correct_completion(by=request.user, completion=completion, **form.cleaned_data)
        words = f"{item.title}: done on {day(corrected.done_on)}."
        return go_on(request, words, home_of(item, request.user))

    history = changes_of(completion, untold=["photo"])
    return item_page(request, "fleet/completion_correct.html", item, form, save, completion=completion, history=history)


@read_or_write
def completion_void(request: MemberRequest, pk: int) -> HttpResponse:
    """Void the record of something that was done, once the member has said why; it says when it falls due then."""
    completion = queries.completion_for(request.user, pk)
    item = completion.due_item
    form = VoidForm(posted(request))

    def save() -> HttpResponse:
        voided = actions.void_completion(by=request.user, completion=completion, **form.cleaned_data)
        words = f"Voided: {item.title}, done on {day(voided.done_on)}. It no longer counts."
        return go_on(request, words, home_of(item, request.user))

    follows = _follows(queries.after_void(completion, item), item)
    return item_page(request, "fleet/completion_void.html", item, form, save, completion=completion, follows=follows)


def _follows(after: AfterVoid, item: DueItem) -> str:
    """What becomes of the item of a completion that is voided, in a sentence or two."""
    parts = [day(after.due_on)] if after.due_on else []
    if after.due_miles is not None:
        parts.append(f"at {whole(after.due_miles)} miles")
    due = " or ".join(parts)
    if after.is_put_back:
        return f"It falls due again as before: {due}." if due else "When it falls due is then not known, as before."
    left = f"left alone: {due}" if due else "left alone"
    return f"{after.why_not} When it falls due is {left}. Correct that if it is wrong."
