"""Downloading a member's own records."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from config.http import read_or_write
from costing.archive.dumping import dump, zipped
from instructors.access import MemberRequest
from instructors.actions import record_own
from instructors.models import ActKind


@read_or_write
def export(request: MemberRequest) -> HttpResponse:
    """Show the button, and answer its POST with the archive of the member's own records as one zip.

    It holds nobody else's money. The member's record says when they downloaded it.
    """
    if request.method != "POST":
        return render(request, "costing/export.html")
    record_own(request.user, ActKind.COPY, "exported")
    name = f"tuition-car-book-{timezone.localdate():%Y-%m-%d}.zip"
    return HttpResponse(
        zipped(dump(request.user).files),
        content_type="application/zip",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
