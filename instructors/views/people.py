"""The members of the co-op, present and former."""

from datetime import date
from typing import NamedTuple

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.module_loading import import_string
from django.views.decorators.http import require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.site import page
from instructors import queries
from instructors.access import MemberRequest, coordinators_only
from instructors.actions import change_member
from instructors.forms import MemberForm
from instructors.models import Member


class Person(NamedTuple):
    """A row of the list: a member, and the registration marks of the cars they keep."""

    member: Member
    marks: list[str]


@coordinators_only
@require_safe
def people(request: MemberRequest) -> HttpResponse:
    """List all members with their cars, and the invitations nobody has answered yet."""
    today = timezone.localdate()
    everybody = [person for person in _people(today) if not person.member.erased_at]
    context = {
        "members": [person for person in everybody if person.member.belongs_on(today)],
        "former_members": [person for person in everybody if not person.member.belongs_on(today)],
        "invitations": queries.open_invitations(),
        "now": timezone.now(),
    }
    return render(request, "instructors/people.html", context)


def _people(today: date) -> list[Person]:
    marks = import_string(settings.MARKS_BY_KEEPER)(today)
    return [Person(member, marks.get(member.pk, [])) for member in queries.everybody()]


@coordinators_only
@read_or_write
def member_change(request: MemberRequest, pk: int) -> HttpResponse:
    """Correct a member's name, grade or role, or set when they joined if the book does not know."""
    member = queries.member_or_404(pk)
    kept = {field: getattr(member, field) for field in ("name", "grade", "role")}
    form = MemberForm(posted(request), initial=kept, asks_joining=member.joined_on is None)

    def save() -> HttpResponse:
        changed = change_member(by=request.user, member=member, **form.cleaned_data)
        # A coordinator who has just stepped down may no longer see the people.
        stepped_down = changed == request.user and not changed.is_coordinator
        return go_on(request, f"Saved: {changed.name}.", page("home") if stepped_down else "instructors:people")

    return form_page(request, "instructors/member_change.html", form, save, {"member": member})
