"""Whether the book still does what nobody would miss until it is too late: its reminders."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from fleet.queries import last_finished_run, reminders_are_late
from fleet.reminders import sound_alarm


@login_not_required
@never_cache
@require_safe
def health(request: HttpRequest) -> JsonResponse:
    """200 while reminders run, 503 once they are late. A book without cars has nothing to remind of yet.

    Whoever watches the container asks here often: a schedule or a worker that has died is noticed even so, and
    the coordinators are told.
    """
    now = timezone.now()
    run, is_late = last_finished_run(), reminders_are_late(now)
    sound_alarm(now)
    answer = {"reminders": "late" if is_late else "ok", "last_finished_at": run.finished_at if run else None}
    return JsonResponse(answer, status=503 if is_late else 200)
