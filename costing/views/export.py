"""Downloading a member's own records."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import FileResponse, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone

from config.form_page import SeeOther, go_on
from config.http import read_or_write
from costing.actions import ask_for_paper
from costing.archive.everything import everything_of, is_long, packed
from costing.core.periods import kept_until
from instructors.access import MemberRequest, few_downloads
from instructors.actions import record_own
from instructors.models import ActKind


@read_or_write
@few_downloads
def export(request: MemberRequest) -> HttpResponseBase:
    """Show the button, and answer its POST with all that the book holds of the member as one zip.

    A large one is made by the worker, as a paper. It holds nobody else's money. The member's record says when they
    asked for it.
    """
    today = timezone.localdate()
    if request.method != "POST":
        return render(request, "costing/export.html", {"kept_until": kept_until(today)})
    files = everything_of(request.user)
    try:
        if is_long(files):
            paper = ask_for_paper(by=request.user, kind="export", days=(today, today))
            answer: HttpResponseBase = SeeOther("costing:paper", paper.pk)
        else:
            name = f"tuition-car-book-{today:%Y-%m-%d}.zip"
            answer = FileResponse(packed(files), as_attachment=True, filename=name, content_type="application/zip")
    except FileNotFoundError:
        return go_on(request, "A picture was removed meanwhile: try again.", "costing:export", level=messages.ERROR)
    except ValidationError as refusal:
        return go_on(request, " ".join(refusal.messages), "costing:paper-list", level=messages.ERROR)
    record_own(request.user, ActKind.COPY, "exported")
    return answer
