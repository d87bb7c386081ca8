"""Asking for a paper, making it, and letting it go.

A process claims a paper by a conditional update and looks at the row count: no two processes ever make the same one.
"""

import logging
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from functools import partial
from typing import IO
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile, File
from django.db import connection, transaction
from django.db.models import F
from django.utils import timezone

from config import budgets, claims
from config.history import lock
from config.later import soon
from config.pdf import CannotPrint
from config.whole_files import StoreAway, delete_after_commit
from costing.core.catalogue.papers import PAPER_KINDS
from costing.models import Paper, PaperState
from costing.queries.papers import papers_of, waiting_paper
from fleet.models import Car
from instructors.models import Member

logger = logging.getLogger(__name__)

MAKE_TASK = "costing.tasks.make_paper"
_CANNOT_PRINT = "The server lacks the libraries that make PDFs. Tell whoever keeps it."
_TOO_LARGE = "It came to more than one file may hold. Ask for less at once."
_NO_ROOM = "The server has no room for it, or cannot write files. Tell whoever looks after it, then ask again."
_AWAY = "The store of the files does not answer as it should. Ask for it again in a while."
_TOO_LONG = f"It took longer than {budgets.PAPER_SECONDS // 60} minutes, so it was given up. Ask for less at once."
_FAILED = "Something went wrong while it was made. Ask for it again; if it fails again, ask for less at once."

#: Tells how far the making is: which page is laid out, of about how many.
Told = Callable[[int, int], None]
#: Makes a paper, and tells how far it is; a large one it leaves in an open file.
Maker = Callable[[Paper, Told], bytes | IO[bytes]]


class TakenOver(Exception):
    """The paper was removed, or another process has it now."""


@transaction.atomic
def ask_for_paper(*, by: Member, kind: str, days: tuple[date, date], car: Car | None = None, asked: str = "") -> Paper:
    """Ask for a paper of ``by``'s own: it is made soon. Return it, or the same one if it is still to be made.

    ``asked`` is what it is narrowed to besides, as the address of its page says it.

    Raises ValidationError if the member has too many.
    """
    lock(by, lets_refer=True)  # else two that ask at once would each find the last place free
    if waiting := waiting_paper(by, kind, days, car, asked):
        return waiting
    if PAPER_KINDS[kind].is_single:
        for earlier in papers_of(by).filter(kind=kind):
            _delete(earlier)
    _refuse_too_many(by)
    first, last = days
    of_coordinator = PAPER_KINDS[kind].goes_by_role and by.is_coordinator
    paper = Paper.objects.create(
        member=by, kind=kind, first=first, last=last, car=car, asked=asked, of_coordinator=of_coordinator
    )
    soon(MAKE_TASK, str(paper.pk))
    return paper


@transaction.atomic
def remove_paper(*, by: Member, paper: Paper) -> None:
    """Delete one of ``by``'s own papers, and its file once that is certain. Whoever makes it stops."""
    if paper.member_id != by.pk:
        raise PermissionError("only whoever asked for a paper may remove it")
    _delete(paper)


def make_paper(pk: UUID, makers: dict[str, Maker]) -> bool:
    """Make a paper, unless another process has it. Return whether it was made.

    No error is raised: the row keeps why it was not made, in words.
    """
    paper = _claim(pk)
    if paper is None:
        return False
    try:
        with _given_up_in_time(paper):
            made = makers[paper.kind](paper, partial(_tell, paper))
    except TakenOver:
        return False
    except CannotPrint:
        return _fail(paper, _CANNOT_PRINT)
    except ValidationError as refusal:
        return _fail(paper, " ".join(refusal.messages))
    except StoreAway as error:
        return _fail(paper, _not_written(paper, error))
    except Exception:
        # Whatever fails, the member is told, and the log says what it was.
        logger.exception("Paper %s could not be made", pk)
        return _fail(paper, _FAILED)
    file = ContentFile(made) if isinstance(made, bytes) else File(made)
    with file:
        most = budgets.PAPER_BYTES if isinstance(made, bytes) else budgets.EXPORT_BYTES
        return _keep(paper, file) if file.size <= most else _fail(paper, _TOO_LARGE)


def sweep_papers(now: datetime) -> int:
    """Delete papers asked for longer ago than they are kept. Return how many."""
    old = list(Paper.objects.filter(asked_at__lt=now - timedelta(days=budgets.PAPER_DAYS)))
    for paper in old:
        with transaction.atomic():
            _delete(paper)
    return len(old)


def _refuse_too_many(by: Member) -> None:
    papers = list(papers_of(by))
    if sum(paper.is_waiting for paper in papers) >= budgets.PAPERS_WAITING:
        words = f"{budgets.PAPERS_WAITING} papers are being made for you already. Wait until one of them is there."
        raise ValidationError(words, code="many")
    if len(papers) >= budgets.PAPERS_OF_MEMBER:
        words = f"You have {budgets.PAPERS_OF_MEMBER} papers here, which is the most. Remove one first."
        raise ValidationError(words, code="many")


def _delete(paper: Paper) -> None:
    delete_after_commit(paper.file)
    paper.delete()


def _claim(pk: UUID) -> Paper | None:
    """Claim a paper and return it; None if it is gone, made, or another process has it."""
    now = timezone.now()
    paper = Paper.objects.select_related("member", "car").filter(pk=pk).first()
    if paper is None or not paper.is_free(now):
        return None
    if paper.attempt_count >= budgets.PAPER_ATTEMPTS:
        _swap(paper, state=PaperState.FAILED, error=_FAILED)
        return None
    values = {"state": PaperState.MAKING, "claimed_by": claims.this_process(), "claimed_at": now}
    if not _swap(paper, **values, attempt_count=F("attempt_count") + 1, page=0, pages=0):
        return None
    for name, value in values.items():
        setattr(paper, name, value)
    return paper


@contextmanager
def _given_up_in_time(paper: Paper) -> Iterator[None]:
    """Within it, a paper that takes too long is told as failed, though whoever makes it hangs.

    Its maker stops at the next page, or is ended as any task is that takes too long.
    """
    over = threading.Timer(budgets.PAPER_SECONDS, _give_up, args=[paper])
    over.daemon = True
    over.start()
    try:
        yield
    finally:
        over.cancel()


def _give_up(paper: Paper) -> None:
    logger.error("Paper %s took too long", paper.pk)
    try:
        _fail(paper, _TOO_LONG)
    finally:
        connection.close()


def _tell(paper: Paper, page: int, pages: int) -> None:
    """Write down how far a claimed paper is. Raises TakenOver if it is not this process's any more."""
    if not _swap(paper, page=page, pages=pages):
        raise TakenOver


def _keep(paper: Paper, file: File) -> bool:
    """Write the file, and mark the paper as made. A file that comes too late is deleted again."""
    try:
        paper.file.save("", file, save=False)
    except OSError as error:
        return _fail(paper, _not_written(paper, error))
    if _swap(paper, state=PaperState.MADE, file=paper.file.name, made_at=timezone.now(), error=""):
        return True
    paper.file.storage.delete(str(paper.file.name))
    return False


def _not_written(paper: Paper, error: OSError) -> str:
    """Log why it could not be made or kept, and say it for its member."""
    logger.error("Paper %s could not be written: %s", paper.pk, error.strerror)
    return _AWAY if isinstance(error, StoreAway) else _NO_ROOM


def _fail(paper: Paper, words: str) -> bool:
    _swap(paper, state=PaperState.FAILED, error=words)
    return False


def _swap(paper: Paper, **values: object) -> bool:
    """Change the row if it is still as it was claimed. Return whether it was."""
    same = Paper.objects.filter(
        pk=paper.pk, state=paper.state, claimed_by=paper.claimed_by, claimed_at=paper.claimed_at
    )
    return bool(same.update(**values))
