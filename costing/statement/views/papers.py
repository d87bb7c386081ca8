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
from costing.forms.periods import StatementForm
from costing.queries import cars_with_money_of
from costing.statement.papers import is_long, pdf_of_statement
from costing.statement.pictures.paper import rows_of
from costing.statement.pictures.periods import address_of
from costing.statement.report import statement as statement_of
from fleet.models import Car
from instructors.access import MemberRequest


@read_or_write
def statement_pdf(request: MemberRequest) -> HttpResponse:
    """A statement as a PDF; a long one is asked for by a key, and made meanwhile."""
    form = StatementForm(request.GET, today=timezone.localdate(), cars=cars_with_money_of(request.user))
    period, car = (form.cleaned_data["period"], form.chosen_car) if form.is_valid() else (None, None)
    found = statement_of(request.user, period, car=car) if period else None
    if found is None:
        return redirect(f"{reverse('costing:statement')}?{request.GET.urlencode()}")
    if request.method == "POST":
        return _asked(request, "statement", (found.period.first, found.period.last), car)
    if is_long(found):
        back = address_of(found.period, car)
        context = {"title": found.title, "rows": whole(rows_of(found)), "back": back, "words": "the statement"}
        return render(request, "costing/statement_pdf.html", context)
    return pdf_response(pdf_of_statement(found), f"statement {found.period.first} to {found.period.last}.pdf")


def _asked(request: MemberRequest, kind: str, days: tuple, car: Car | None) -> HttpResponse:
    """Ask for a paper and go on to its page, or say why it is not made."""
    try:
        paper = ask_for_paper(by=request.user, kind=kind, days=days, car=car)
    except ValidationError as refusal:
        return go_on(request, " ".join(refusal.messages), "costing:paper-list", level=messages.ERROR)
    return SeeOther("costing:paper", paper.pk)
