"""Logging without a signal: the worker that opens the log forms, the page it opens, and the kit it rests on."""

import hashlib
import json
import re
from collections.abc import Sequence
from datetime import date

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from config.look.icons import SIZES
from config.look.tokens import SHADES
from costing.forms import CostForm, EntryForm, FillForm, WeekForm
from costing.kit import kit_of
from instructors.access import MemberRequest
from instructors.models import Member

#: The log pages: words, name of the address, form, and the template of what the page shows below its head.
LOG_PAGES: tuple[tuple[str, str, type[EntryForm], str], ...] = (
    ("Fill", "costing:fill-log", FillForm, "costing/_fill_log.html"),
    ("Cost", "costing:cost-log", CostForm, "costing/_cost_log.html"),
    ("Lessons", "costing:teaching-log", WeekForm, "costing/_teaching_log.html"),
)
#: An address in a page, without what follows a #.
_ADDRESS = re.compile(r"""(?:href|src)=["']([^"'#?]+)""")


@login_not_required
@require_safe
def waiting(request: HttpRequest) -> HttpResponse:
    """Show what waits on this phone to be sent, which only the phone knows.

    The worker keeps this page and opens it for the log forms too, without a signal: it holds nothing of any member,
    whoever asks.
    """
    return HttpResponse(shell())


@require_safe
def kit(request: MemberRequest) -> JsonResponse:
    """Answer with what this member's phone keeps, and the token with which it sends."""
    told = kit_of(request.user, timezone.localdate()) | {"token": get_token(request)}
    return JsonResponse(told, json_dumps_params={"separators": (",", ":")})


@login_not_required
@require_safe
@cache_control(private=True, no_cache=True)
def worker(request: HttpRequest) -> HttpResponse:
    """Answer with the worker: what it keeps, a version made of all of that, and the script that does the work."""
    page = shell()
    files, later = _static_files(page), static("plausible.js")
    script = static("worker.js")
    told = {
        "version": _version(page, [*files, script]),
        "shell": reverse("costing:waiting"),
        "logs": [reverse(name) for _, name, _, _ in LOG_PAGES],
        "files": [file for file in files if file != later],
        "later": [later],
    }
    code = f"self.book = {json.dumps(told)};\nimportScripts({json.dumps(script)});\n"
    return _named(code, "sw.js", "text/javascript")


@login_not_required
@require_safe
@cache_control(private=True, no_cache=True)
def manifest(request: HttpRequest) -> HttpResponse:
    """Answer with what a phone needs to put the book on its home screen: names, colours, icons, and the log forms."""
    paper = SHADES["paper"].light
    told = {
        "name": "Tuition Car Book",
        "short_name": "Car Book",
        "lang": "en-GB",
        "id": "/",
        "start_url": reverse("costing:home"),
        "scope": "/",
        "display": "standalone",
        "background_color": paper,
        "theme_color": paper,
        "icons": [_icon(name, pixels) for name, (pixels, _) in SIZES.items()],
        "shortcuts": [{"name": words, "url": reverse(name)} for words, name, _, _ in LOG_PAGES],
    }
    return _named(json.dumps(told), "manifest.webmanifest", "application/manifest+json")


def shell() -> str:
    """The page of what waits, with the log forms as nobody has filled them: rendered without a request."""
    pages = [
        {"words": words, "to": reverse(name), "form": bare_form(form_class), "template": template}
        for words, name, form_class, template in LOG_PAGES
    ]
    return render_to_string("costing/waiting.html", {"pages": pages})


def bare_form(form_class: type[EntryForm]) -> EntryForm:
    """A log form of nobody, on no day and for no car: a script fits it to the kit of whoever fills it in."""
    form = form_class(by=Member(), cars=(), today=date.min)
    form.initial["ref"] = ""
    return form


def _icon(name: str, pixels: int) -> dict[str, str]:
    purpose = "maskable" if "maskable" in name else "any"
    return {
        "src": static(f"icons/{name}"),
        "sizes": f"{pixels}x{pixels}",
        "type": "image/png",
        "purpose": purpose,
    }


def _static_files(page: str) -> list[str]:
    return sorted({address for address in _ADDRESS.findall(page) if address.startswith(settings.STATIC_URL)})


def _version(page: str, files: Sequence[str]) -> str:
    """A name that changes with anything the worker keeps: collected files have their hash in their address."""
    digest = hashlib.sha256("\n".join([page, *files]).encode())
    if not settings.STATIC_FILES_COLLECTED:
        for file in files:
            with open(str(finders.find(file.removeprefix(settings.STATIC_URL))), "rb") as content:
                digest.update(hashlib.sha256(content.read()).digest())
    return digest.hexdigest()[:16]


def _named(text: str, name: str, kind: str) -> HttpResponse:
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return HttpResponse(text, content_type=f"{kind}; charset=utf-8", headers=headers)
