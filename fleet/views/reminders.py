"""What was reminded of, and what waits: silence must be visible."""

from datetime import datetime, timedelta

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from fleet import queries
from fleet.models import ReminderRun
from fleet.views import MemberRequest
from instructors.queries import cooperative

#: A day and a little more without a finished run means that reminders have stopped.
_LATE_AFTER = timedelta(hours=26)
#: A run takes seconds: one that has been at it for longer will not finish any more.
_GIVEN_UP_AFTER = timedelta(minutes=15)


@require_safe
def reminder_log(request: MemberRequest) -> HttpResponse:
    """The last runs with their counts, and the e-mails that could not be sent yet."""
    if not request.user.is_coordinator:
        raise Http404
    now = timezone.now()
    finished = queries.last_finished_run()
    finished_at = finished.finished_at if finished else None
    context = {
        "runs": [(run, _how_it_went(run, now)) for run in queries.recent_runs()],
        "mails": queries.unsent_mails(),
        "finished_at": finished_at,
        "is_late": finished_at is not None and finished_at < now - _LATE_AFTER,
        "reminder_hour": cooperative().reminder_hour,
    }
    return render(request, "fleet/reminder_log.html", context)


def _how_it_went(run: ReminderRun, now: datetime) -> str:
    if run.finished_at:
        return "finished"
    return "stopped before it finished" if run.started_at < now - _GIVEN_UP_AFTER else "running"
