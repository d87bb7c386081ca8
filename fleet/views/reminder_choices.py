"""When and of what a member is reminded."""

from django.http import HttpResponse

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from fleet.core.due_kinds import DUE_KINDS
from fleet.forms import ReminderChoicesForm
from instructors.access import MemberRequest
from instructors.actions import choose_reminders
from instructors.queries import cooperative


@read_or_write
def reminder_choices(request: MemberRequest) -> HttpResponse:
    """The member's own hour, and whether they are mailed more than what the law asks for."""
    member = request.user
    form = ReminderChoicesForm(
        posted(request),
        co_op_hour=cooperative().reminder_hour,
        initial={"reminder_hour": member.reminder_hour, "wants_due_mail": member.wants_due_mail},
    )

    def save() -> HttpResponse:
        choose_reminders(by=member, **form.cleaned_data)
        words = "Your choices are saved. They hold from the next reminder on."
        return go_on(request, words, "fleet:reminder-choices")

    legal = [kind for kind in DUE_KINDS.values() if kind.is_legal]
    others = [kind for kind in DUE_KINDS.values() if not kind.is_legal]
    return form_page(request, "fleet/reminder_choices.html", form, save, {"legal": legal, "others": others})
