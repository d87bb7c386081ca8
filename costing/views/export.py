"""Downloading a member's own records."""

import tempfile

from django.conf import settings
from django.contrib import messages
from django.http import FileResponse, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone

from config.form_page import go_on
from config.http import read_or_write
from costing.archive.dumping import dump
from costing.archive.packing import write_zip
from instructors.access import MemberRequest, few_downloads
from instructors.actions import record_own
from instructors.models import ActKind


@read_or_write
@few_downloads
def export(request: MemberRequest) -> HttpResponseBase:
    """Show the button, and answer its POST with the archive of the member's own records as one zip.

    It holds nobody else's money. The member's record says when they downloaded it.
    """
    if request.method != "POST":
        return render(request, "costing/export.html")
    made = dump(request.user)
    # On the disk, because its pictures could fill the memory, and where the book may write; once closed it is gone.
    settings.MEDIA_ROOT.mkdir(parents=True, exist_ok=True)
    packed = tempfile.TemporaryFile(dir=settings.MEDIA_ROOT)  # noqa: SIM115 - the answer closes it
    try:
        write_zip(made.contents, packed)
        record_own(request.user, ActKind.COPY, "exported")
        packed.seek(0)
    except FileNotFoundError:
        packed.close()
        return go_on(request, "A receipt was removed meanwhile: try again.", "costing:export", level=messages.ERROR)
    except BaseException:
        packed.close()
        raise
    name = f"tuition-car-book-{timezone.localdate():%Y-%m-%d}.zip"
    return FileResponse(packed, as_attachment=True, filename=name, content_type="application/zip")
