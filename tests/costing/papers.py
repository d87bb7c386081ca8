"""Papers as rows, and makers that stand in for the real ones."""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.utils import timezone

from config.pdf import CannotPrint
from costing.actions.papers import Maker, Told
from costing.models import Paper
from instructors.models import Member
from tests.factories import PaperFactory

DAYS = (date(2021, 3, 1), date(2026, 2, 28))


def asked(member: Member, **fields: Any) -> Paper:
    """A paper that waits."""
    paper: Paper = PaperFactory.create(member=member, **fields)
    return paper


def made(member: Member, words: bytes = b"%PDF words", **fields: Any) -> Paper:
    """A paper that is made."""
    paper = asked(member, **fields)
    paper.file.save("", ContentFile(words), save=False)
    paper.state, paper.made_at = "made", timezone.now()
    paper.save()
    return paper


def making(made: bytes = b"%PDF") -> dict[str, Maker]:
    """Makers that make ``made``, and tell twelve pages."""

    def maker(paper: Paper, told: Told) -> bytes:
        for page in range(1, 13):
            told(page, 12)
        return made

    return {"statement": maker}


def failing(error: Exception) -> dict[str, Maker]:
    """Makers that fail."""

    def maker(paper: Paper, told: Told) -> bytes:
        raise error

    return {"statement": maker}


FAILURES = [
    (CannotPrint("no pango"), "lacks the libraries"),
    (ValidationError("Too many rows for one paper."), "Too many rows for one paper."),
    (RuntimeError("a bug"), "Something went wrong"),
]
