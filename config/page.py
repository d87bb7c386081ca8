"""What is known of the page that is being answered: that there is one, and whether it has saved anything."""

from collections.abc import Callable
from contextvars import ContextVar
from typing import Any

from django.db import connection, transaction
from django.http import HttpRequest, HttpResponse

_WRITES = ("INSERT", "UPDATE", "DELETE")
#: Under which a request keeps its ``Saved``.
_KEPT = "book.saved"

_within: ContextVar[bool] = ContextVar("within a page", default=False)


def is_within_a_page() -> bool:
    """Whether somebody waits for the answer: not in the worker, in a command or in a thread beside the pages."""
    return _within.get()


class Saved:
    """Notes whether anything that a request wrote is committed, or may be."""

    def __init__(self) -> None:
        self.may_be = False

    def __call__(self, go_on: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        """Django calls this in place of each statement."""
        if sql.lstrip().upper().startswith(_WRITES):
            if not connection.in_atomic_block:
                self.note()
            elif not self._is_waiting():
                transaction.on_commit(self.note)
        return go_on(sql, params, many, context)

    def note(self) -> None:
        """Something is committed, or was sent with nothing to hold it back."""
        self.may_be = True

    def _is_waiting(self) -> bool:
        return any(waiting[1] == self.note for waiting in connection.run_on_commit)


class PageMiddleware:
    """Say to all below that a page is being answered, and note of a form whether what it wrote is committed."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        token = _within.set(True)
        try:
            if request.method != "POST":
                return self.get_response(request)
            saved = request.META[_KEPT] = Saved()
            with connection.execute_wrapper(saved):
                return self.get_response(request)
        finally:
            _within.reset(token)


def may_have_saved(request: HttpRequest) -> bool:
    """Whether anything that the request wrote may be committed."""
    saved = request.META.get(_KEPT)
    return isinstance(saved, Saved) and saved.may_be
