"""The papers of the wing: made at once if they are short, else asked of the worker."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from config.form_page import SeeOther, go_on
from config.http import read_or_write
from config.pdf import pdf_response
from config.showing import whole
from costing.actions import ask_for_paper
from costing.core.periods import months_ending
from costing.core.records import Period
from costing.forms.periods import StatementForm
from costing.queries import cars_with_money_of
from costing.statement.papers import days_of_paper, is_long, months_of_year, pages_of, pdf_of_statement, pdf_of_year
from costing.statement.pictures.paper import rows_of
from costing.statement.pictures.periods import address_of
from costing.statement.report import Statement
from costing.statement.report import statement as statement_of
from instructors.access import MemberRequest, few_papers


@read_or_write
@few_papers
def statement_pdf(request: MemberRequest) -> HttpResponse:
    """A statement as a PDF; a long one is asked for by a key, and made meanwhile."""
    found = _statement_asked_for(request)
    if found is None:
        return _back(request)
    if request.method == "POST":
        return _asked(request, "statement", found)
    if is_long(found):
        return _long(request, found, rows_of(found))
    first, last = found.period
    return pdf_response(pdf_of_statement(found), f"statement-{first}-to-{last}.pdf")


@read_or_write
@few_papers
def year_pdf(request: MemberRequest) -> HttpResponse:
    """The twelve months to the month asked for as a PDF, with each month's entries; a long one likewise."""
    found = _statement_asked_for(request, is_year=True)
    if found is None:
        return _back(request)
    if request.method == "POST":
        return _asked(request, "year", found)
    months = months_of_year(found)
    if is_long(*months):
        return _long(request, found, rows_of(*months))
    return pdf_response(pdf_of_year(found, months), f"year-to-{found.period.last}.pdf")


def _statement_asked_for(request: MemberRequest, *, is_year: bool = False) -> Statement | None:
    """The statement of what the address asks for, or of the twelve months that end with it; None if it asks amiss."""
    form = StatementForm(request.GET, today=timezone.localdate(), cars=cars_with_money_of(request.user))
    if not form.is_valid():
        return None
    period: Period = form.cleaned_data["period"]
    if is_year:
        period = months_ending(period.last.replace(day=1), 12)
    return statement_of(request.user, period, car=form.chosen_car, reaching=days_of_paper(period))


def _back(request: MemberRequest) -> HttpResponse:
    """To the page that says why there is none."""
    return redirect(f"{reverse('costing:statement')}?{request.GET.urlencode()}")


def _long(request: MemberRequest, found: Statement, rows: int) -> HttpResponse:
    back = address_of(found.period, found.car)
    pages = pages_of(rows)
    length = f"about {whole(pages)} page{'' if pages == 1 else 's'}"
    context = {"title": found.title, "length": length, "of": "the statement", "back": back}
    return render(request, "long_paper.html", context)


def _asked(request: MemberRequest, kind: str, found: Statement) -> HttpResponse:
    """Ask for a paper and go on to its page, or say why it is not made."""
    days = (found.period.first, found.period.last)
    try:
        paper = ask_for_paper(by=request.user, kind=kind, days=days, car=found.car)
    except ValidationError as refusal:
        return go_on(request, " ".join(refusal.messages), "costing:paper-list", level=messages.ERROR)
    return SeeOther("costing:paper", paper.pk)
