"""Which checks and completions a member may correct or void, and what follows from voiding one."""

from datetime import date
from typing import NamedTuple

from django.http import Http404
from django.shortcuts import get_object_or_404

from config.showing import day
from fleet.models import Completion, DueItem, WalkaroundCheck
from fleet.queries.access import cars_visible_to
from instructors.models import Member


def check_for(member: Member, pk: int) -> WalkaroundCheck:
    """A check that ``member`` may correct: one they made of a car they still see, or any for a coordinator.

    Raises Http404 if there is none such.
    """
    checks = WalkaroundCheck.objects.select_related("car__keeper", "member")
    check = get_object_or_404(checks, pk=pk, car__in=cars_visible_to(member))
    if not may_correct(member, check.member):
        raise Http404
    return check


def completion_for(member: Member, pk: int) -> Completion:
    """A completion that ``member`` may correct: one they recorded and still see, or any for a coordinator.

    The item may be closed. Raises Http404 if there is none such.
    """
    completions = Completion.objects.select_related("due_item__car__keeper", "due_item__member", "recorded_by")
    completion = get_object_or_404(completions, pk=pk)
    item = completion.due_item
    is_own = (item.car.keeper if item.car else item.member) == member
    if not (is_own or member.is_coordinator) or not may_correct(member, completion.recorded_by):
        raise Http404
    return completion


def may_correct(member: Member, recorded_by: Member) -> bool:
    """Whether ``member`` may correct what ``recorded_by`` recorded, if they may see it."""
    return member.is_coordinator or recorded_by == member


class AfterVoid(NamedTuple):
    """When an item falls due once a completion of it is voided; ``why_not`` it is not put back, empty if it is."""

    due_on: date | None
    due_miles: int | None
    why_not: str = ""

    @property
    def is_put_back(self) -> bool:
        """Whether it falls due as it did before."""
        return not self.why_not


def after_void(completion: Completion, item: DueItem) -> AfterVoid:
    """What becomes of the item of a completion if that is voided: put back, unless something happened since."""
    later = item.completions.filter(done_on__gt=completion.done_on, voided_at__isnull=True).order_by("done_on").first()
    if later is not None:
        return AfterVoid(item.due_on, item.due_miles, f"It was done again on {day(later.done_on)}.")
    if item.closed_on is not None:
        same = DueItem.objects.filter(car=item.car, member=item.member, kind=item.kind, closed_on__isnull=True)
        if same.exists():
            return AfterVoid(item.due_on, item.due_miles, "It was entered anew since.")
    elif (item.due_on, item.due_miles) != (completion.next_due_on, completion.next_due_miles):
        return AfterVoid(item.due_on, item.due_miles, "When it falls due was changed since, or came from an archive.")
    return AfterVoid(completion.was_due_on, completion.was_due_miles)
