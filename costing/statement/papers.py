"""The papers of the wing: a statement as a PDF, at once or by the worker."""

from collections.abc import Sequence
from typing import Any

from django.core.exceptions import ValidationError

from config import budgets
from config.pdf import render_pdf, telling_pages
from config.showing import whole
from costing.actions.papers import Maker, Told
from costing.core.periods import months_within
from costing.core.records import Period
from costing.models import Paper
from costing.queries.charging import lesson_hour_price
from costing.statement.pictures.paper import paper_of, rows_of, year_of
from costing.statement.report import Statement, statement, statements
from costing.statement.services.economy import days_of_economy, economy_of
from costing.statement.services.months import days_of_months, twelve_months
from costing.statement.services.moved import days_compared, moved_of
from instructors.queries import cooperative

#: Rows that fit a page, to tell how many pages there will be.
_ROWS_OF_PAGE = 50


def days_of_paper(period: Period) -> list[Period]:
    """The days that the papers of a period tell of beside its own."""
    return [days_of_months(period.last), days_compared(period), days_of_economy(period)]


def is_long(*found: Statement) -> bool:
    """Whether a paper of statements takes longer than a page may."""
    return rows_of(*found) > budgets.PAPER_ROWS_AT_ONCE


def pdf_of_statement(found: Statement) -> bytes:
    """The paper of a statement. Raises CannotPrint, and ValidationError if it would be too long."""
    _refuse_too_long(found)
    return render_pdf("costing/pdf/statement.html", _face(found))


def months_of_year(found: Statement) -> list[Statement]:
    """The statements of each month of a year's statement."""
    return statements(found.own, months_within(found.period))


def pdf_of_year(found: Statement, months: Sequence[Statement]) -> bytes:
    """The paper of a year: its statement, each month's figures and entries. Raises as `pdf_of_statement` does."""
    _refuse_too_long(*months)
    return render_pdf("costing/pdf/year.html", _face(found) | year_of(found, months))


def _face(found: Statement) -> dict[str, Any]:
    months = twelve_months(found.own, found.period.last, cooperative())
    economies = economy_of(found.own, found.period)
    price = lesson_hour_price(found.own.member)
    return paper_of(found, months, moved_of(found.own, found.period), economies, price)


def _refuse_too_long(*found: Statement) -> None:
    count = rows_of(*found)
    if count > budgets.PAPER_ROWS:
        raise ValidationError(
            f"It would have {whole(count)} rows, and {whole(budgets.PAPER_ROWS)} are the most. "
            "Ask for fewer months at once."
        )


def _make_statement(paper: Paper, told: Told) -> bytes:
    found = _statement_for(paper)
    with telling_pages(told, pages_of(rows_of(found))):
        return pdf_of_statement(found)


def _make_year(paper: Paper, told: Told) -> bytes:
    found = _statement_for(paper)
    months = months_of_year(found)
    with telling_pages(told, pages_of(rows_of(*months))):
        return pdf_of_year(found, months)


def _statement_for(paper: Paper) -> Statement:
    period = Period(paper.first, paper.last)
    found = statement(paper.member, period, car=paper.car, reaching=days_of_paper(period))
    if found is None:
        raise ValidationError("You never kept a car, so there is nothing to print.")
    return found


def pages_of(rows: int) -> int:
    """About how many pages a paper of so many rows has."""
    return 1 + rows // _ROWS_OF_PAGE


#: By the name of each kind: what makes such a paper.
MAKERS: dict[str, Maker] = {"statement": _make_statement, "year": _make_year}
