"""The door to papers that take longer than a page may. The fleet may not import the app that keeps them: a setting
names it."""

from collections.abc import Callable
from datetime import date
from typing import Protocol, cast
from uuid import UUID

from django.conf import settings
from django.utils.module_loading import import_string

from config.site import page
from instructors.models import Member


class AskedPaper(Protocol):
    """A paper as its maker sees it: whose it is, of which day, and what it is narrowed to, as an address says it.

    ``of_coordinator``: it was asked for with a coordinator's rights, and is opened with these alone.
    """

    pk: UUID
    member: Member
    first: date
    asked: str
    of_coordinator: bool


def ask_for_paper(*, by: Member, kind: str, on: date, asked: str) -> str:
    """Have a paper made of the book on that day; return the path of the page that tells how far it is.

    Raises ValidationError if the member has too many.
    """
    ask = cast(Callable[..., AskedPaper], import_string(settings.ASK_FOR_PAPER))
    return page("paper", ask(by=by, kind=kind, days=(on, on), asked=asked).pk)
