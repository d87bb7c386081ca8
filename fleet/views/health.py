"""Whether the book still does what nobody would miss until it is too late: its reminders."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt

from config.http import read_or_write
from fleet.queries import last_finished_run, reminders_are_late
from fleet.reminders import sound_alarm


@login_not_required
@never_cache
@read_or_write
@csrf_exempt
def health(request: HttpRequest) -> JsonResponse:
    """200 while reminders run, 503 once they are late. A book without cars has nothing to remind of yet.

    A POST tells the coordinators too. Whoever watches the container sends one every half minute, so that they hear of
    a schedule or a worker that has died.
    """
    now = timezone.now()
    run, is_late = last_finished_run(), reminders_are_late(now)
    if request.method == "POST":
        sound_alarm(now)
    answer = {"reminders": "late" if is_late else "ok", "last_finished_at": run.finished_at if run else None}
    return JsonResponse(answer, status=503 if is_late else 200)
