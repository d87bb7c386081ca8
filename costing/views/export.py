"""A member's own records, to take away."""

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from costing.archive.dumping import dump, zipped
from instructors.access import MemberRequest
from instructors.actions import record_own
from instructors.models import ActKind


@never_cache
@require_safe
def export(request: MemberRequest) -> HttpResponse:
    """The archive of the member's own records as one zip; nobody else's money is in it."""
    record_own(request.user, ActKind.COPY, "exported")
    name = f"tuition-car-book-{timezone.localdate():%Y-%m-%d}.zip"
    return HttpResponse(
        zipped(dump(request.user).files),
        content_type="application/zip",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
