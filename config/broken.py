"""The answer when something fails that is no fault of whoever asks: true sentences, and what they typed.

Django calls ``broken`` for whatever was raised by a view or around it. It asks no database.
"""

import errno
import re
import sys
from typing import NamedTuple

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import CsrfViewMiddleware, get_token
from django.template.loader import render_to_string

from config.http import wants_data
from config.page import may_have_saved
from config.whole_files import StoreAway

#: Seconds after which it is worth while to try again.
_RETRY_AFTER = 5
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
#: PostgreSQL's code for a full disk, and how SQLite says it.
_DISK_FULL, _SQLITE_FULL = "53100", ("disk is full", "disk I/O error")
#: SQLite raises the same error for a mistake in the book.
_SQLITE_OUT_OF_REACH = ("locked", "busy", "unable to open", "readonly")
#: What must not be in a page, and is quickly typed anew.
_SECRET = re.compile("csrf|password|code|token|credential", re.IGNORECASE)
#: Characters. A form that holds more, such as the rows of a file, is still there when one goes back.
_MOST = 200_000


class Typed(NamedTuple):
    """What was typed into a form, to be sent again: names and values, the token, and what is not among them."""

    fields: list[tuple[str, str]]
    token: str
    had_secrets: bool
    had_files: bool


def broken(request: HttpRequest) -> HttpResponse:
    """Say what cannot be done just now, or that something went wrong."""
    error = sys.exc_info()[1]
    if is_full(error):
        return _answer(request, "full.html", status=507)
    if is_out_of_reach(error):
        silent = "the store of its files" if isinstance(error, StoreAway) else "its database"
        answer = _answer(request, "try_again.html", status=503, commit_unclear=_is_in_commit(error), silent=silent)
        answer["Retry-After"] = str(_RETRY_AFTER)
        return answer
    return _answer(request, "500.html", status=500)


def is_full(error: BaseException | None) -> bool:
    """Whether the disk of the files, or that of the database, is full."""
    if isinstance(error, OperationalError):
        full = any(words in str(error) for words in _SQLITE_FULL)
        return full or getattr(error.__cause__, "sqlstate", None) == _DISK_FULL
    return isinstance(error, OSError) and error.errno in _FULL


def is_out_of_reach(error: BaseException | None) -> bool:
    """Whether the database or the store of files cannot be asked just now, or gave up what it was asked."""
    if isinstance(error, OperationalError) and type(error.__cause__).__module__ == "sqlite3":
        return any(words in str(error) for words in _SQLITE_OUT_OF_REACH)
    return isinstance(error, OperationalError | InterfaceError | StoreAway)


def _is_in_commit(error: BaseException | None) -> bool:
    return type(error.__cause__).__name__ == "CommitUnclear" if error else False


def _answer(
    request: HttpRequest, template: str, *, status: int, commit_unclear: bool = False, silent: str = ""
) -> HttpResponse:
    if wants_data(request):
        return JsonResponse({}, status=status)
    is_form = request.method == "POST"
    context = {
        "is_form": is_form,
        "may_be_saved": is_form and (commit_unclear or may_have_saved(request)),
        "typed": _typed(request) if is_form else None,
        "address": request.get_full_path(),
        "silent": silent,
    }
    return HttpResponse(render_to_string(template, context), status=status)


def _typed(request: HttpRequest) -> Typed | None:
    """What was typed; None unless it came from a page of the book and can be read."""
    try:
        # It may have failed before this was looked at. A page of somebody else's must get no token of ours.
        if CsrfViewMiddleware(lambda _: HttpResponse()).process_view(request, broken, (), {}):
            return None
        secret = {name for name in request.POST if _SECRET.search(name)}
        fields = [(name, value) for name, values in request.POST.lists() if name not in secret for value in values]
        if sum(len(name) + len(value) for name, value in fields) > _MOST:
            return None
        return Typed(fields, get_token(request), bool(secret - {"csrfmiddlewaretoken"}), bool(request.FILES))
    except Exception:  # whatever it was that failed may be in the way here too
        return None
