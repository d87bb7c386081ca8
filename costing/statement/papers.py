"""The papers of the wing: a statement as a PDF, at once or by the worker."""

from collections.abc import Callable

from django.core.exceptions import ValidationError

from config import budgets
from config.pdf import render_pdf, telling_pages
from config.showing import whole
from costing.actions.papers import Maker, Told
from costing.core.records import Period
from costing.models import Paper
from costing.statement.pictures.paper import paper_of, rows_of
from costing.statement.report import Statement, statement
from costing.statement.services.months import twelve_months
from costing.statement.services.moved import moved_of
from instructors.queries import cooperative

#: Rows that fit a page, to tell how many pages there will be.
_ROWS_OF_PAGE = 50
_NOTHING = "There is nothing of these days to print."


def is_long(found: Statement) -> bool:
    """Whether a statement's paper takes longer than a page may."""
    return rows_of(found) > budgets.PAPER_ROWS_AT_ONCE


def pdf_of_statement(found: Statement) -> bytes:
    """The paper of a statement. Raises CannotPrint, and ValidationError if it would be too long."""
    count = rows_of(found)
    if count > budgets.PAPER_ROWS:
        raise ValidationError(
            f"It would have {whole(count)} entries, and {whole(budgets.PAPER_ROWS)} are the most. "
            "Ask for fewer months at once."
        )
    months = twelve_months(found.member, found.period.last, cooperative(), car=found.car)
    why = moved_of(found.member, found.period, car=found.car)
    return render_pdf("costing/pdf/statement.html", paper_of(found, months, why))


def _make_statement(paper: Paper, told: Told) -> bytes:
    found = statement(paper.member, Period(paper.first, paper.last), car=paper.car)
    if found is None:
        raise ValidationError(_NOTHING)
    with telling_pages(_by_page(told, rows_of(found))):
        return pdf_of_statement(found)


def _by_page(told: Told, rows: int) -> Callable[[int], None]:
    """Tell each page that is begun, of about as many as there will be."""
    about = 1 + rows // _ROWS_OF_PAGE

    def begun(page: int) -> None:
        told(page, max(page, about))

    return begun


#: By the name of each kind: what makes such a paper.
MAKERS: dict[str, Maker] = {"statement": _make_statement}
