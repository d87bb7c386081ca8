"""PDFs from templates, which can load nothing but the book's own static files."""

import logging
import threading
from bisect import bisect_left
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cache
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.text import get_valid_filename

from config.roomy import roomy

#: Packages with the layout libraries, and a font with every character the book uses.
PACKAGES = "libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core"

_VARIANT = {"pdf_variant": "pdf/ua-1"}
#: What WeasyPrint writes into its log of progress for each page, with the page's number.
_PAGE_BEGUN = "Step 5 - Creating layout - Page %d"


class CannotPrint(Exception):
    """This machine lacks the libraries that lay out PDFs; the rest of the site works without them."""


@roomy
def render_pdf(
    template: str,
    context: Mapping[str, Any],
    *,
    spare: Sequence[str] = (),
    pages: int = 0,
    seems_long: Callable[[str], bool] = lambda html: False,
) -> bytes:
    """Render a template that extends ``pdf.html`` as a tagged PDF (PDF/UA-1). Raises CannotPrint.

    The template also knows ``made_on``, today. What the context has under the names in ``spare`` is left out, the first
    of them first, if the sheet has more than so many ``pages``. To lay it out takes most of the time, so what
    ``seems_long`` by its HTML is not even tried. 20 rows take 0.1 s and 200 rows 0.4 s; a longer document belongs to a
    worker.
    """
    # What is empty is left out already.
    spare = [name for name in spare if context.get(name)]

    @cache
    def html(many: int) -> str:
        left_out = dict.fromkeys(spare[:many])
        return render_to_string(template, {"made_on": timezone.localdate(), **context, **left_out})

    seeming = bisect_left(range(len(spare)), True, key=lambda many: not seems_long(html(many)))
    for many in range(seeming, len(spare) + 1):
        if many == seeming or html(many) != html(many - 1):
            sheet = _laid_out(html(many))
        if many == len(spare) or len(sheet.pages) <= pages:
            break
    return sheet.write_pdf(**_VARIANT)


def _laid_out(html: str) -> Any:
    """The pages, as WeasyPrint has them."""
    try:
        # This import takes most of a second, and most requests print nothing.
        from weasyprint import HTML

        from config.pdf_fetcher import BASE_URL, StaticFetcher
    except OSError as missing:
        raise CannotPrint(str(missing)) from missing
    return HTML(string=html, base_url=BASE_URL, url_fetcher=StaticFetcher()).render(**_VARIANT)


def try_printing() -> None:
    """Lay out a page, to see whether this machine can. Raises CannotPrint."""
    _laid_out("<p>£</p>")


def pdf_response(pdf: bytes, filename: str) -> HttpResponse:
    """The PDF for the browser to show, or to save as ``filename``; nothing on the way may keep it."""
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'inline; filename="{get_valid_filename(filename)}"',
            "Cache-Control": "private, no-store",
        },
    )


@contextmanager
def telling_pages(told: Callable[[int, int], None], about: int) -> Iterator[None]:
    """Within it, ``told`` is called for each page that this thread begins to lay out, of ``about`` as many.

    It gets the page's number and how many there will be, as far as is known. What it raises ends the layout.
    """
    progress, thread = logging.getLogger("weasyprint.progress"), threading.get_ident()

    def note(record: logging.LogRecord) -> bool:
        if record.thread == thread and record.msg.startswith(_PAGE_BEGUN):
            page = int(record.args[0])  # type: ignore[index,arg-type]
            told(page, max(page, about))
        return False

    before = progress.level
    progress.addFilter(note)
    progress.setLevel(logging.INFO)
    try:
        yield
    finally:
        progress.removeFilter(note)
        progress.setLevel(before)


class CannotPrintMiddleware:
    """Say which packages are missing when a PDF cannot be made."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if isinstance(exception, CannotPrint):
            return render(request, "cannot_print.html", {"packages": PACKAGES}, status=503)
        return None
