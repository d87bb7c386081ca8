"""What was reminded of, and what waits: silence must be visible."""

from datetime import datetime, timedelta

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from fleet import queries
from fleet.models import ReminderRun
from instructors.access import MemberRequest, coordinators_only
from instructors.queries import cooperative, untold_mails

#: A run takes seconds: one that has been at it for longer will not finish any more.
_GIVEN_UP_AFTER = timedelta(minutes=15)
_DAYS_COUNTED = 14


@require_safe
@coordinators_only
def reminder_log(request: MemberRequest) -> HttpResponse:
    """The last runs with their counts, what was mailed lately, and the e-mails that could not be sent yet."""
    now = timezone.now()
    since = timezone.localdate() - timedelta(days=_DAYS_COUNTED - 1)
    context = {
        "runs": [(run, _how_it_went(run, now)) for run in queries.recent_runs()],
        "mails": queries.unsent_mails(),
        "act_mails": untold_mails(),
        "counts": queries.mail_counts(since),
        "asked": queries.asked_mails(since),
        "days_counted": _DAYS_COUNTED,
        "quiet_since": queries.quiet_since(),
        "is_late": queries.reminders_are_late(now),
        "reminder_hour": cooperative().reminder_hour,
    }
    return render(request, "fleet/reminder_log.html", context)


def _how_it_went(run: ReminderRun, now: datetime) -> str:
    if run.finished_at:
        return "finished"
    return "stopped before it finished" if run.started_at < now - _GIVEN_UP_AFTER else "running"
