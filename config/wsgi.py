"""The web process's entry point."""

import os
from collections.abc import Callable, Iterable
from typing import Any

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
_answer = get_wsgi_application()


def application(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """Django's application, which reads every request as UTF-8, whatever charset a client names.

    A browser names none but that. Django would decode the address and the form by the codec of that name, before
    any middleware could refuse it: some of Python's are not of text and raise, others read a form as another one.
    """
    environ["CONTENT_TYPE"] = without_charset(environ.get("CONTENT_TYPE", ""))
    return _answer(environ, start_response)


def without_charset(content_type: str) -> str:
    """The kind of a body, and where its parts are cut: no other parameter, as each can name a codec of its own."""
    kind, *parameters = content_type.split(";")
    cuts = (one.strip() for one in parameters if one.partition("=")[0].strip().lower() == "boundary")
    return "; ".join([kind.strip(), *cuts])
