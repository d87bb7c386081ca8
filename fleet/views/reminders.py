"""The reminders: what went out, whether members are told, a member's own choices, one sent by a coordinator."""

from datetime import datetime, timedelta

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from fleet import actions, queries
from fleet.core.due_kinds import DUE_KINDS
from fleet.forms import ReminderChoicesForm
from fleet.models import MailKind, ReminderRun
from instructors.access import MemberRequest, coordinators_only
from instructors.actions import choose_reminders
from instructors.models import Member
from instructors.queries import (
    backup_failed_since,
    cooperative,
    drill_failed_since,
    last_backup,
    last_good_drill,
    untold_mails,
)

#: A run takes seconds: one that takes longer than this will not finish.
_GIVEN_UP_AFTER = timedelta(minutes=15)
_DAYS_COUNTED = 14


@require_safe
@coordinators_only
def reminder_log(request: MemberRequest) -> HttpResponse:
    """The last runs with their counts, recent mails, the e-mails not sent yet, the last backup and the last drill."""
    now = timezone.now()
    since = timezone.localdate() - timedelta(days=_DAYS_COUNTED - 1)
    backup, drill, duty = last_backup(), last_good_drill(), queries.duty()
    context = {
        "backup": backup,
        "backup_failed": backup_failed_since(backup),
        "drill": drill,
        "drill_failed": drill_failed_since(drill.ended_at if drill else None),
        "runs": [(run, _how_it_went(run, now)) for run in queries.recent_runs()],
        "mails": queries.unsent_mails(),
        "act_mails": untold_mails(),
        "counts": queries.mail_counts(since),
        "asked": queries.asked_mails(since),
        "days_counted": _DAYS_COUNTED,
        "duty": duty,
        "red": [part for part in duty if not part.ok],
        "reminder_hour": cooperative().reminder_hour,
    }
    return render(request, "fleet/reminder_log.html", context)


def _how_it_went(run: ReminderRun, now: datetime) -> str:
    if run.finished_at:
        return "finished"
    return "stopped before it finished" if run.started_at < now - _GIVEN_UP_AFTER else "running"


@read_or_write
def reminder_choices(request: MemberRequest) -> HttpResponse:
    """The member's own hour, and whether they are mailed about more than the law requires."""
    member = request.user
    form = ReminderChoicesForm(
        posted(request),
        co_op_hour=cooperative().reminder_hour,
        initial={name: getattr(member, name) for name in ("reminder_hour", "wants_due_mail", "wants_log_mail")},
    )

    def save() -> HttpResponse:
        choose_reminders(by=member, **form.cleaned_data)
        words = "Saved. Your choices apply from the next reminder."
        return go_on(request, words, "fleet:reminder-choices")

    legal = [kind for kind in DUE_KINDS.values() if kind.is_legal]
    others = [kind for kind in DUE_KINDS.values() if not kind.is_legal]
    return form_page(request, "fleet/reminder_choices.html", form, save, {"legal": legal, "others": others})


@require_POST
def car_remind(request: MemberRequest, mark: str) -> HttpResponse:
    """Remind the keeper of a car by mail, once a day, of what needs doing."""
    car, today = queries.car_for(request.user, mark), timezone.localdate()
    if not queries.may_be_reminded_by(request.user, car, today):
        raise Http404
    is_new = actions.queue_mail(to=car.keeper, kind=MailKind.ASKED, asked_by=request.user) is not None
    asked = asked_words(queries.asked_for_on(today).get(car.keeper_id), request.user)
    if request.htmx:
        return render(request, "fleet/_car_remind.html", {"car": car, "asked": asked})
    if is_new:
        return go_on(request, f"{car.keeper.name} is being reminded by e-mail.", "fleet:car-list")
    words = f"{car.keeper.name}: {asked}. Once a day is enough."
    return go_on(request, words, "fleet:car-list", level=messages.INFO)


def asked_words(asked_by: Member | None, viewer: Member) -> str:
    """Who reminded a keeper today, in words for ``viewer``; empty if nobody did."""
    if asked_by is None:
        return ""
    return "reminded today" if asked_by == viewer else f"reminded today by {asked_by.name}"
