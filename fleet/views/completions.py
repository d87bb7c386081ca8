"""Recording that a due item was met."""

from datetime import date

from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from config.form_page import go_on, posted, posted_files
from config.http import read_or_write
from config.showing import day, whole
from fleet import actions, queries
from fleet.costs import WorkCost, cost_book
from fleet.forms import CompletionForm, MotPassForm
from fleet.models import DueItem
from fleet.views.due_items import home_of, item_page
from instructors.access import MemberRequest
from instructors.models import Member
from instructors.queries import cooperative


@read_or_write
def due_item_complete(request: MemberRequest, pk: int) -> HttpResponse:
    """Record that a due item was done; it moves on to when it falls due again.

    ``?cost=`` names an entry of the member's own that paid for it.
    """
    item = queries.due_item_for(request.user, pk)
    today = timezone.localdate()
    form = _form(request, item, today)
    form.put_odometer(request.user, item.car, today)

    def save() -> HttpResponse:
        complete = actions.record_mot_pass if item.due_kind.is_mot else actions.complete_due_item
        completion = complete(by=request.user, item=item, **form.cleaned_data)
        met = completion.due_item
        words = f"{met.title}: recorded as done on {day(completion.done_on)}. {_next(met)}"
        return go_on(request, words, _after(met, request.user))

    return item_page(request, "fleet/due_item_complete.html", item, form, save, logged=form.logged)


def _form(request: MemberRequest, item: DueItem, today: date) -> CompletionForm:
    logged_ref = request.GET.get("cost", "")
    logged = _logged(request.user, item, logged_ref)
    form = MotPassForm if item.due_kind.is_mot else CompletionForm
    return form(
        posted(request),
        posted_files(request),
        item=item,
        today=today,
        proposed=queries.proposed_next_due_on(item, logged.paid_on if logged else today),
        asks_cost=may_log_cost(request.user, item),
        tyre_life_miles=cooperative().tyre_life_miles if item.due_kind.lasts_miles else None,
        logged=logged,
        logged_ref=logged_ref,
    )


def may_log_cost(member: Member, item: DueItem) -> bool:
    """Whether ``member`` may log what it cost: only the car's keeper may."""
    return item.car is not None and item.car.keeper == member


def _logged(member: Member, item: DueItem, ref: str) -> WorkCost | None:
    """The member's own cost entry that paid for the item, if ``ref`` names one."""
    if not ref or item.car is None:
        return None
    cost = cost_book().find(of=member, car=item.car, ref=ref)
    return cost if cost and cost.category == item.due_kind.cost_category else None


def _after(item: DueItem, member: Member) -> str:
    """The page to go to after an item was done; for an MOT, its findings while any is still open."""
    if item.due_kind.is_mot and item.car and queries.mot_findings_of(item.car):
        return reverse("fleet:mot-findings", args=[item.car.registration])
    return home_of(item, member)


def _next(item: DueItem) -> str:
    """When an item that was met falls due again."""
    parts = [day(item.due_on)] if item.due_on else []
    if item.due_miles is not None:
        parts.append(f"at {whole(item.due_miles)} miles")
    if item.closed_on or not parts:
        return "It does not come back."
    return f"Next due: {' or '.join(parts)}."
