"""Room for Python's calls, so that it does not ask the system for memory and give it back all the time.

CPython keeps the frames of calls in chunks of 16 KB, and gives a chunk back as soon as the first call in it has ended.
Where a loop's calls happen to begin a chunk, each round asks for one anew. By how deep such a loop chanced to lie below
the middleware, pages took up to twice the CPU time they needed, and a PDF up to three times. A call that says it needs
a lot gets a large chunk of its own, and what it calls goes into the rest of it.
"""

from collections.abc import Callable
from functools import update_wrapper
from typing import ParamSpec, TypeVar

from django.http import HttpRequest, HttpResponse

#: Words of eight bytes that a roomy call says it needs, a little more than fit 256 KB. Chunks double in size: it gets
#: one of 512 KB and leaves nearly half of it, some six hundred calls. What nobody touches is never really taken.
_SAID_TO_BE_NEEDED = 33_000

P = ParamSpec("P")
R = TypeVar("R")


def roomy(call: Callable[P, R]) -> Callable[P, R]:
    """The same function, with room for the calls that it makes."""

    def with_room(*args: P.args, **kwargs: P.kwargs) -> R:
        return call(*args, **kwargs)

    with_room.__code__ = with_room.__code__.replace(co_stacksize=_SAID_TO_BE_NEEDED)
    return update_wrapper(with_room, call)


class RoomyMiddleware:
    """Answer every request with room: before all others, so that they have it too."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self._answer = roomy(get_response)

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer as the others do."""
        return self._answer(request)
