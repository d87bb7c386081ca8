"""The entry point of the web process."""

import os
from collections.abc import Callable, Iterable
from typing import Any

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
_answer = get_wsgi_application()


def application(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """Django's application, made to read every request as UTF-8 whatever charset the client names.

    Browsers send nothing else. Django would use any Python codec of that name before a middleware could refuse it:
    some raise errors, and others would read one form as a different one.
    """
    environ["CONTENT_TYPE"] = without_charset(environ.get("CONTENT_TYPE", ""))
    return _answer(environ, start_response)


def without_charset(content_type: str) -> str:
    """The content type with its boundary alone; any other parameter could name a codec."""
    kind, *parameters = content_type.split(";")
    cuts = (one.strip() for one in parameters if one.partition("=")[0].strip().lower() == "boundary")
    return "; ".join([kind.strip(), *cuts])
