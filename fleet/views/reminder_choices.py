"""When and of what a member is reminded."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from config.http import read_or_write
from fleet.core.kinds import DUE_KINDS
from fleet.forms import ReminderChoicesForm
from fleet.views import MemberRequest
from instructors.actions import choose_reminders
from instructors.queries import cooperative


@read_or_write
def reminder_choices(request: MemberRequest) -> HttpResponse:
    """The member's own hour, and whether they are mailed more than what the law asks for."""
    member = request.user
    form = ReminderChoicesForm(
        request.POST if request.method == "POST" else None,
        co_op_hour=cooperative().reminder_hour,
        initial={"reminder_hour": member.reminder_hour, "wants_due_mail": member.wants_due_mail},
    )
    if request.method == "POST" and form.is_valid():
        choose_reminders(by=member, **form.cleaned_data)
        messages.success(request, "Your choices are saved. They hold from the next reminder on.")
        return redirect("fleet:reminder-choices")
    legal = [kind for kind in DUE_KINDS.values() if kind.is_legal]
    others = [kind for kind in DUE_KINDS.values() if not kind.is_legal]
    return render(request, "fleet/reminder_choices.html", {"form": form, "legal": legal, "others": others})
