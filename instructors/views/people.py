"""Who belongs to the co-op, in which role, and who has left."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.http import read_or_write
from config.showing import day
from config.site import page
from instructors import queries
from instructors.actions import change_member, record_leaving, record_return
from instructors.forms import LeavingForm, MemberForm
from instructors.models import Member
from instructors.views.access import MemberRequest, coordinators_only


@coordinators_only
@require_safe
def people(request: MemberRequest) -> HttpResponse:
    """Everybody of the co-op, and the invitations nobody has answered yet."""
    today = timezone.localdate()
    everybody = queries.everybody()
    context = {
        "members": [member for member in everybody if member.belongs_on(today)],
        "former_members": [member for member in everybody if not member.belongs_on(today)],
        "invitations": queries.open_invitations(),
        "now": timezone.now(),
    }
    return render(request, "instructors/people.html", context)


@coordinators_only
@read_or_write
def member_change(request: MemberRequest, pk: int) -> HttpResponse:
    """Correct a member's name, grade or role; a day of joining can be set where none is known."""
    member = get_object_or_404(Member, pk=pk)
    kept = {field: getattr(member, field) for field in ("name", "grade", "role")}
    posted = request.POST if request.method == "POST" else None
    form = MemberForm(posted, initial=kept, asks_joining=member.joined_on is None)
    if request.method == "POST" and form.is_valid():
        try:
            changed = change_member(by=request.user, member=member, **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"Saved: {changed.name}.")
            # Somebody who has just stepped down may not see the people any more.
            stepped_down = changed == request.user and not changed.is_coordinator
            return redirect(page("home") if stepped_down else "instructors:people")
    return render(request, "instructors/member_change.html", {"form": form, "member": member})


@coordinators_only
@read_or_write
def member_leave(request: MemberRequest, pk: int) -> HttpResponse:
    """Record a member's last day, or take it back."""
    member = get_object_or_404(Member, pk=pk)
    if request.method == "POST" and "back" in request.POST:
        record_return(by=request.user, member=member)
        messages.success(request, f"{member.name} has no last day any more and may sign in.")
        return redirect("instructors:people")
    form = LeavingForm(
        request.POST if request.method == "POST" else None,
        initial={"left_on": member.left_on or timezone.localdate()},
    )
    if request.method == "POST" and form.is_valid():
        try:
            left = record_leaving(by=request.user, member=member, **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"The last day of {left.name} is {day(form.cleaned_data['left_on'])}.")
            return redirect("instructors:people")
    return render(request, "instructors/member_leave.html", {"form": form, "member": member})
