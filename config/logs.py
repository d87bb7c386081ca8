"""What is written to the log: whoever reads it must not be able to use what somebody else was sent.

Records are blanked as they are made, so that it holds for every handler: ours, gunicorn's and Celery's.
"""

import logging
import logging.config
import re
from typing import Any

HIDDEN = "[hidden]"
#: What stands in an address before a secret; a test holds it against the url patterns.
BEFORE_A_SECRET = ("invitation", "calendar", "account/password/reset/key", "account/confirm-email")
#: In cookies and forms.
SECRET_NAMES = ("sessionid", "session_key", "csrftoken", "csrfmiddlewaretoken", "password", "password1", "password2")

_SLASH = r"(?:/|%(?:25)*2F)"  # as it is, or written for a query string, once or more
_PATHS = "|".join(path.replace("/", _SLASH) for path in BEFORE_A_SECRET)
_IN_PATH = re.compile(rf"((?:(?<![\w-])|(?<=2F))(?:{_PATHS}){_SLASH})(?:(?!{_SLASH})[^?#&\s\"'<>\\])+", re.IGNORECASE)
_QUERY = re.compile(r"\?[^\s\"'<>?=]*=[^\s\"'<>]*")
_NAMED = re.compile(rf"\b({'|'.join(SECRET_NAMES)})([\"']?\s*[=:]\s*[\"']?)[^\s\"';&,}}]+", re.IGNORECASE)
#: As long as a token of ours is at least; shorter ones are no secrets, but names and ids.
_LONG = re.compile(r"[\w-]{40,}")


def blanked(line: str) -> str:
    """The line without what could be used: secrets in addresses, query strings, cookies, and whatever looks random."""
    line = _QUERY.sub(f"?{HIDDEN}", line)
    line = _IN_PATH.sub(rf"\1{HIDDEN}", line)
    line = _NAMED.sub(rf"\1\2{HIDDEN}", line)
    return _LONG.sub(lambda found: HIDDEN if _looks_random(found[0]) else found[0], line)


def _looks_random(word: str) -> bool:
    """Whether a long word has capitals, small letters and digits, as a token has and a name in a traceback has not."""
    return all(any(map(is_one, word)) for is_one in (str.isupper, str.islower, str.isdigit))


class BlankedRecord(logging.LogRecord):
    """A record whose every text is blanked: its message, and the traceback that a formatter puts into it."""

    def getMessage(self) -> str:
        return blanked(super().getMessage())

    def __setattr__(self, name: str, value: object) -> None:
        is_text = name in {"exc_text", "stack_info"} and isinstance(value, str)
        super().__setattr__(name, blanked(str(value)) if is_text else value)


def configure(options: dict[str, Any]) -> None:
    """Set logging up as ``options`` say, with records that hold no secret (settings.LOGGING_CONFIG)."""
    logging.setLogRecordFactory(BlankedRecord)
    logging.config.dictConfig(options)
