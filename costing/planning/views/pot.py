"""The weekly pot: the answer with the bills behind it, the plan, and the member's own bills and quotes."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config import budgets
from config.changes import VoidForm, changes_of
from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.pdf import pdf_response, render_pdf
from config.showing import day, pounds, whole
from costing.core.catalogue.bills import BILL_KINDS
from costing.models import PotBill
from costing.planning.core.bills import Bills, typed_day, year_from
from costing.planning.forms.pot import PotBillForm, PotPlanForm
from costing.planning.pictures.pot import pot_page, unknown_rows
from costing.planning.pictures.pot_words import balance_of, idle_of, included_of, repairs_words
from costing.planning.report import PotReport, pot_report
from costing.planning.services.pot_plan import correct_pot_bill, record_pot_bill, save_plan, void_pot_bill
from costing.planning.services.pot_rows import plan_of, pot_bill_for, repairs_of, ways_held
from costing.queries import logged_as
from costing.queries.listing import PAGE_LENGTH
from fleet.core.registration import show
from fleet.own_cars import own_report
from fleet.queries import cars_of
from instructors.access import MemberRequest, few_papers


@require_safe
def pot(request: MemberRequest) -> HttpResponse:
    """Say how much to put by each week so that every bill of the next 12 months is met."""
    today = timezone.localdate()
    report = pot_report(request.user, today, due=own_report(request))
    context = {
        "report": report,
        "page": None if report.is_empty else pot_page(report),
        "most": PAGE_LENGTH,
        "balance": balance_of(report),
        "unknown": unknown_rows(report),
        "repairs": repairs_words(repairs_of(request.user, report.today)),
        "included": included_of(report.bills.not_known, report.hired),
        "typed": [(bill, title_of(bill), _in_the_list(bill, report)) for bill in report.typed],
    }
    return render(request, "costing/pot.html", context)


@require_safe
def pot_month(request: MemberRequest) -> HttpResponse:
    """List all bills of one month of the pot, ``?month=`` counted from 1."""
    report = pot_report(request.user, timezone.localdate(), due=own_report(request))
    months = Paginator([] if report.is_empty else pot_page(report).months, 1).get_page(request.GET.get("month"))
    month = next(iter(months), None)
    bills = Paginator(month.bills if month else (), PAGE_LENGTH).get_page(request.GET.get("page"))
    shown = {"months": months, "month": month, "bills": bills}
    return render(request, "costing/pot_month.html", {**shown, "query": f"month={months.number}&"})


@require_safe
@few_papers
def pot_pdf(request: MemberRequest) -> HttpResponse:
    """The pot on paper: the answer, the year month by month, and every bill."""
    today = timezone.localdate()
    report = pot_report(request.user, today, due=own_report(request))
    if (count := len(report.bills.known)) > budgets.POT_PAPER_BILLS:
        most = whole(budgets.POT_PAPER_BILLS)
        words = (
            f"No PDF was made: the year has {whole(count)} bills, and one holds {most}. Read them on this page instead."
        )
        return go_on(request, words, "costing:pot", level=messages.ERROR)
    of = [*(show(car.registration) for car in report.cars), request.user.name]
    context = {
        "of": ", ".join(of),
        "has_plan": report.plan is not None,
        "page": None if report.is_empty else pot_page(report),
        "unknown": unknown_rows(report),
        "repairs": repairs_words(repairs_of(request.user, today)),
    }
    return pdf_response(render_pdf("costing/pdf/pot.html", context), f"pot-{today}.pdf")


@read_or_write
def pot_plan(request: MemberRequest) -> HttpResponse:
    """Say what is in the pot, what is put by, and when nothing is."""
    today, plan = timezone.localdate(), plan_of(request.user)
    ways = ways_held(request.user, cars_of(request.user, today))
    form = PotPlanForm(posted(request), by=request.user, plan=plan, ways=ways, today=today)

    def save() -> HttpResponse:
        saved = save_plan(by=request.user, **form.cleaned_data)
        return go_on(request, f"Saved: {pounds(saved.balance)} in the pot.", "costing:pot")

    return form_page(request, "costing/pot_plan.html", form, save, {"plan": plan})


@read_or_write
def pot_bill_add(request: MemberRequest) -> HttpResponse:
    """Enter a bill that is coming, or a quote for what falls due."""
    today = timezone.localdate()
    asked = {name: request.GET[name] for name in ("kind", "car") if name in request.GET}
    form = PotBillForm(posted(request), by=request.user, cars=cars_of(request.user, today), today=today, asked=asked)

    def told(bill: PotBill, *, is_new: bool) -> HttpResponse:
        words = "Entered" if is_new else "Already entered, nothing was added"
        return go_on(request, f"{words}: {_in_short(bill, today)}", "costing:pot")

    def again() -> HttpResponse | None:
        first = logged_as(PotBill, request.user, request.POST.get("ref"))
        return told(first, is_new=False) if first else None

    def save() -> HttpResponse:
        if form.is_left_out:
            return go_on(request, "Left out: nothing was added.", "costing:pot")
        typed = {**form.cleaned_data}
        if instead := typed.pop("instead"):
            del typed["ref"]
            return _correct(request, pot_bill_for(request.user, instead), typed)
        bill, is_new = record_pot_bill(by=request.user, **typed)
        return told(bill, is_new=is_new)

    return form_page(request, "costing/pot_bill_add.html", form, save, again=again)


@read_or_write
def pot_bill_correct(request: MemberRequest, pk: int) -> HttpResponse:
    """Correct one; its history stands below the form."""
    bill, today = pot_bill_for(request.user, pk), timezone.localdate()
    form = PotBillForm(posted(request), by=request.user, cars=cars_of(request.user, today), today=today, bill=bill)

    def save() -> HttpResponse:
        return _correct(request, bill, form.cleaned_data)

    def shown() -> dict[str, object]:
        shown_as = {"amount": pounds, "kind": lambda name: BILL_KINDS[name].words}
        return {"bill": bill, "title": title_of(bill), "history": changes_of(bill, shown_as)}

    return form_page(request, "costing/pot_bill_correct.html", form, save, shown)


@read_or_write
def pot_bill_void(request: MemberRequest, pk: int) -> HttpResponse:
    """Void one, once the member has confirmed it."""
    bill, form = pot_bill_for(request.user, pk), VoidForm(posted(request))

    def save() -> HttpResponse:
        void_pot_bill(by=request.user, bill=bill, **form.cleaned_data)
        return go_on(request, f"Voided: {title_of(bill)}. It no longer counts.", "costing:pot")

    context = {"bill": bill, "title": title_of(bill), "words": words_of(bill, timezone.localdate())}
    return form_page(request, "costing/pot_bill_void.html", form, save, context)


def _correct(request: MemberRequest, bill: PotBill, changes: Mapping[str, Any]) -> HttpResponse:
    changed = correct_pot_bill(by=request.user, bill=bill, changes=changes)
    return go_on(request, f"Corrected: {_in_short(changed, timezone.localdate())}", "costing:pot")


#: What the list says of a day that was; a bill late by now is one of the book's own. And of one beyond the year.
_PAST, _AFTER = ", which has passed: taken as paid", ", after these 12 months"
#: Of a quote without a day: whether the book knows one.
_DAY_OF_THE_BOOK, _NO_DAY = "on the day in the book", "its day is not known"


def title_of(bill: PotBill) -> str:
    """What a typed bill is for."""
    return bill.words or BILL_KINDS[bill.kind].words


def words_of(bill: PotBill, today: date, without_day: str = "") -> str:
    """When a typed bill falls due, and for which car; of one that does not count on that day, why not.

    ``without_day`` is said of what has none but is to be paid.
    """
    nothing = "nothing to pay" if bill.amount == Decimal(0) else ""
    if bill.due_on is None:
        when = "" if nothing else without_day
    else:
        is_past = bill.due_on < today and not bill.is_yearly
        beyond = _PAST if is_past else _AFTER if _is_after(bill, today) else ""
        when = f"{'every year from ' if bill.is_yearly else ''}{day(bill.due_on)}{beyond}"
    return ", ".join(filter(None, [nothing, when, show(bill.car.registration) if bill.car else ""]))


def _day_taken(quote: PotBill, bills: Bills) -> str:
    """For which day a quote is that has none of its own."""
    if quote.pk in {one.quote for one in bills.not_known}:
        return _NO_DAY
    before = bills.days_before.get(quote.pk)
    return f"for {day(before)}, the day of your quote before" if before else _DAY_OF_THE_BOOK


def _in_the_list(bill: PotBill, report: PotReport) -> str:
    """What the list says of a bill or quote: also which of several quotes counts, and why another does not."""
    idle = None if _is_after(bill, report.today) else report.bills.idle.get(bill.pk)
    without_day = "" if idle and idle.is_idle else _day_taken(bill, report.bills)
    counts = any(one.instead == bill.pk for one in report.bills.idle.values()) and not (idle and idle.is_idle)
    told = [
        words_of(bill, report.today, without_day),
        "this one counts" if counts else "",
        idle_of(idle) if idle else "",
    ]
    return "; ".join(filter(None, told))


def _is_after(bill: PotBill, today: date) -> bool:
    """Whether a bill falls due after the 12 months of the pot."""
    if bill.due_on is None or bill.due_on < today:
        return False
    return typed_day(bill.due_on, year_from(today), is_yearly=bill.is_yearly) is None


def _in_short(bill: PotBill, today: date) -> str:
    """A bill as it was entered, and whether it does not count yet."""
    later = " It falls after these 12 months and does not count yet." if _is_after(bill, today) else ""
    return f"{title_of(bill)}, {pounds(bill.amount)}.{later}"
