"""Whether the book still does what nobody would miss until it is too late: its reminders."""

from datetime import timedelta

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from costing.queries.age import first_car_recorded_at
from fleet.queries import last_finished_run

#: One run a day, and two hours for a server that was restarted at the wrong time.
_LATE_AFTER = timedelta(hours=26)


@login_not_required
@never_cache
@require_safe
def health(request: HttpRequest) -> JsonResponse:
    """200 while reminders run, 503 once they are late. A book without cars has nothing to remind of yet."""
    run = last_finished_run()
    finished_at = run.finished_at if run else None
    quiet_since = finished_at or first_car_recorded_at()
    is_late = quiet_since is not None and timezone.now() - quiet_since > _LATE_AFTER
    answer = {"reminders": "late" if is_late else "ok", "last_finished_at": finished_at}
    return JsonResponse(answer, status=503 if is_late else 200)
