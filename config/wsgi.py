"""The entry point of the web process."""

import gc
import os
import sys
from collections.abc import Callable, Iterable
from typing import Any

import django
from django.core.handlers.wsgi import WSGIHandler

from config.refusal import CannotStart
from config.unread import ENOUGH_FOR_THE_SERVER, Answered, may_be_longer

#: gunicorn's own status of a worker that cannot start. After any other it would start the next one, for ever.
_CANNOT_START = 3
#: Python's own, after how many objects it looks for cycles. A command raises it, `manage.py serve` among them.
_LOOKED_THROUGH_AT = 700


def _started() -> WSGIHandler:
    """Django's application, once the settings, the folder of files and the database let it work.

    What is made until then stays for good, and Python need not look for cycles among it, now or later.
    """
    gc.disable()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    try:
        django.setup(set_prefix=False)
        _require_what_it_needs()
    except CannotStart as refusal:
        print(refusal, file=sys.stderr)
        sys.exit(_CANNOT_START)
    application = WSGIHandler()
    gc.freeze()
    gc.set_threshold(_LOOKED_THROUGH_AT)
    gc.enable()
    return application


def _require_what_it_needs() -> None:
    from django.conf import settings  # only now can they be read, and the database be asked

    from config.files import require_writable
    from config.files_place import require_files
    from config.release import require_current

    require_writable("DATA_DIR", settings.MEDIA_ROOT)
    require_current()
    require_files()
    if settings.STATIC_FILES_COLLECTED and not (settings.STATIC_ROOT / "staticfiles.json").exists():
        raise CannotStart(f"No static files lie in {settings.STATIC_ROOT}: run `manage.py collectstatic`.")


_answer = _started()


def application(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """Django's application, made to read every request as UTF-8 whatever charset the client names.

    Browsers send nothing else. Django would use any Python codec of that name before a middleware could refuse it:
    some raise errors, and others would read one form as a different one.
    """
    environ["CONTENT_TYPE"] = without_charset(environ.get("CONTENT_TYPE", ""))
    parts = _answer(environ, start_response)
    return Answered(parts, environ) if may_be_longer(environ, ENOUGH_FOR_THE_SERVER) else parts


def without_charset(content_type: str) -> str:
    """The content type with its boundary alone; any other parameter could name a codec."""
    kind, *parameters = content_type.split(";")
    cuts = (one.strip() for one in parameters if one.partition("=")[0].strip().lower() == "boundary")
    return "; ".join([kind.strip(), *cuts])
