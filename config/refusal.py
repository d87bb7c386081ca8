"""What stops the book from starting, said in one sentence whichever program starts it."""

import sys
from types import TracebackType

from django.core.exceptions import ImproperlyConfigured


class CannotStart(ImproperlyConfigured):
    """The book cannot start as things are. The message is one sentence for whoever runs it, and says what to do."""


def say_refusals_plainly() -> None:
    """Print a ``CannotStart`` that nobody handles as its sentence alone; the exit status is 1.

    Commands, the worker and beat are started by programs that would all print a traceback, so this is set where each
    of them comes past.
    """
    sys.excepthook = _show


def _show(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
    if issubclass(kind, CannotStart):
        print(error, file=sys.stderr)
    else:
        sys.__excepthook__(kind, error, trace)
