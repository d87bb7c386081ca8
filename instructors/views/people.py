"""Who belongs to the co-op, in which role, and who has left."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.showing import day
from config.site import page
from instructors import queries
from instructors.access import MemberRequest, coordinators_only
from instructors.actions import change_member, record_leaving, record_return
from instructors.forms import LeavingForm, MemberForm
from instructors.models import Member


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
    form = MemberForm(posted(request), initial=kept, asks_joining=member.joined_on is None)

    def save() -> HttpResponse:
        changed = change_member(by=request.user, member=member, **form.cleaned_data)
        # Somebody who has just stepped down may not see the people any more.
        stepped_down = changed == request.user and not changed.is_coordinator
        return go_on(request, f"Saved: {changed.name}.", page("home") if stepped_down else "instructors:people")

    return form_page(request, "instructors/member_change.html", form, save, {"member": member})


@coordinators_only
@read_or_write
def member_leave(request: MemberRequest, pk: int) -> HttpResponse:
    """Record a member's last day, or take it back."""
    member = get_object_or_404(Member, pk=pk)
    if request.method == "POST" and "back" in request.POST:
        record_return(by=request.user, member=member)
        return go_on(request, f"{member.name} has no last day any more and may sign in.", "instructors:people")
    form = LeavingForm(posted(request), initial={"left_on": member.left_on or timezone.localdate()})

    def save() -> HttpResponse:
        left = record_leaving(by=request.user, member=member, **form.cleaned_data)
        words = f"The last day of {left.name} is {day(form.cleaned_data['left_on'])}."
        return go_on(request, words, "instructors:people")

    return form_page(request, "instructors/member_leave.html", form, save, {"member": member})
