"""A comparison of offers: its page, what would change the answer, the odds, and the decision sheet."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from config.form_page import form_page, go_on, page_or_fragment, posted
from config.http import read_or_write
from config.pdf import pdf_response, render_pdf
from config.showing import pence_as_pounds
from costing.actions.comparisons import save_uncertain
from costing.core.offers.odds import DRAWS
from costing.core.offers.terms import Case, Uncertain
from costing.forms.assumptions import RangesForm, WhatIfForm
from costing.forms.offer_terms import step_with
from costing.models import Comparison
from costing.offers import charts, half_rule, sentences, sources, table, wording
from costing.offers.document import Document
from costing.offers.odds_table import odds_rows
from costing.offers.report import OffersReport, report_of, usual_ranges, with_ranges
from costing.offers.sheet import sheet_of
from costing.offers.stored import document_of, tables_of, to_json
from costing.offers.validation import Unreadable
from costing.queries.comparisons import comparison_for, offers_of
from instructors.access import MemberRequest

_OWN_EVENT = {"weeks", "from_week", "leave"}


@require_safe
def comparison(request: MemberRequest, pk: int) -> HttpResponse:
    """The offers side by side, where the money goes and what could happen; or what is still missing."""
    found = comparison_for(request.user, pk)
    try:
        document = document_of(found)
    except Unreadable as unready:
        return render(request, "costing/comparison.html", _missing(found, unready))
    form = WhatIfForm(request.GET if _OWN_EVENT & set(request.GET) else None, months=document.case.use.months)
    report = report_of(document, *([form.cleaned_data["what_if"]] if form.is_valid() else []))
    return render(request, "costing/comparison.html", {"comparison": found, "form": form, **_page(report, found)})


def _missing(found: Comparison, unready: Unreadable) -> dict[str, Any]:
    """The steps to take before offers can be compared, and what is wrong with the offers so far."""
    tables = {fault.place[0] for fault in unready.faults}
    at_odds = [fault.words for fault in unready.faults if fault.place[0] == "offer" and len(fault.place) > 1]
    return {
        "comparison": found,
        "wants_use": "use" in tables,
        "wants_running": "running" in tables,
        "wants_offer": "offer" in tables and not at_odds,
        "at_odds": at_odds,
        **_offers(found),
    }


def _offers(found: Comparison) -> dict[str, Any]:
    """The offers that are compared, and each unfinished one with the step to go on with."""
    offers = offers_of(found)
    return {
        "has_accepted_offer": any(offer.chosen_on for offer in offers),
        "offers": [offer for offer in offers if offer.is_complete],
        "unfinished": [(offer, step) for offer in offers if (step := step_with(offer))],
    }


def _page(report: OffersReport, found: Comparison) -> dict[str, Any]:
    columns = table.columns_of(report)
    return {
        "report": report,
        "use": report.case.use,
        "use_words": sources.use_in_words(report.case.use),
        "columns": columns,
        "lead": pence_as_pounds(columns[1].figures.total - columns[0].figures.total) if len(columns) > 1 else "",
        "rows": table.rows_of(report, columns),
        "money": charts.money_chart(columns),
        "money_rows": table.money_rows(columns),
        "running": charts.running_chart(columns),
        "running_rows": table.running_total_rows(report, columns),
        "overtakings": sentences.overtakings(report.base.figures, report.case.use),
        "what_ifs": [sentences.what_if_summary(report.base, result) for result in report.what_ifs],
        "running_costs": sources.running_sources(found, report.case),
        "assumed": [wording.assumed(report.case, key) for key in report.assumed],
        "half_rules": half_rule.half_rules(report.case),
        **_offers(found),
    }


@require_safe
@vary_on_headers("HX-Request")
def comparison_switching(request: MemberRequest, pk: int) -> HttpResponse:
    """For each pair of offers, the values at which the cheaper one changes."""
    found = comparison_for(request.user, pk)
    document = _document_or_none(found)
    if document is None:
        return redirect("costing:comparison", pk)
    report = OffersReport.of(document)
    pairs, cheapest = sentences.pairs(report.switching), report.cheapest.offer.name
    context = {
        "comparison": found,
        "pairs": [pair for pair in pairs if cheapest in (pair.cheaper, pair.than)],
        "others": [pair for pair in pairs if cheapest not in (pair.cheaper, pair.than)],
    }
    return render(request, page_or_fragment(request, "costing/comparison_switching.html"), context)


@require_safe
@vary_on_headers("HX-Request")
def comparison_odds(request: MemberRequest, pk: int) -> HttpResponse:
    """How often each offer is the cheapest when the uncertain figures are drawn at random."""
    found = comparison_for(request.user, pk)
    document = _document_or_none(found)
    if document is None:
        return redirect("costing:comparison", pk)
    report = OffersReport(with_ranges(document.case))
    columns = table.columns_of(report)
    context = {
        "comparison": found,
        "draws": DRAWS,
        "ranges": [_range_in_words(one) for one in report.case.uncertain],
        "is_assumed": not document.case.uncertain,
        "ranges_drawn": charts.odds_chart(columns, report.odds),
        "rows": odds_rows(columns, report.odds),
    }
    return render(request, page_or_fragment(request, "costing/comparison_odds.html"), context)


@read_or_write
def comparison_ranges(request: MemberRequest, pk: int) -> HttpResponse:
    """The member's own ranges for the uncertain figures."""
    found = comparison_for(request.user, pk)
    document = _document_or_none(found)
    if document is None:
        return redirect("costing:comparison", pk)
    form = RangesForm(posted(request), ranges=_ranges(document.case), document=tables_of(found))

    def save() -> HttpResponse:
        uncertain = [to_json(row) for row in form.cleaned_data["uncertain"]]
        save_uncertain(by=request.user, comparison=found, uncertain=uncertain)
        words = "Your ranges are saved." if uncertain else "The usual ranges are back in use."
        return go_on(request, words, "costing:comparison-odds", pk)

    return form_page(request, "costing/comparison_ranges.html", form, save, {"comparison": found})


@require_safe
def comparison_sheet(request: MemberRequest, pk: int) -> HttpResponse:
    """The decision sheet, on two sides of paper."""
    found = comparison_for(request.user, pk)
    document = _document_or_none(found)
    if document is None:
        return redirect("costing:comparison", pk)
    today = timezone.localdate()
    pdf = render_pdf("costing/pdf/decision.html", sheet_of(found, document), spare=["money", "totals"], pages=2)
    return pdf_response(pdf, f"{found.name} {today}.pdf")


def _document_or_none(found: Comparison) -> Document | None:
    """The document; None while something is missing, which the comparison's own page says."""
    try:
        return document_of(found)
    except Unreadable:
        return None


def _ranges(case: Case) -> list[tuple[str, Uncertain, bool]]:
    """The case's own ranges and the usual ones; if it has any of its own, only those are filled in."""
    own = {(one.input, one.offer): one for one in case.uncertain}
    usual = {(one.input, one.offer): one for one in usual_ranges(case)}
    return [(wording.thing(one.input, one.offer), one, key in own or not own) for key, one in {**usual, **own}.items()]


def _range_in_words(one: Uncertain) -> str:
    low, likely, high = (wording.amount(one.input, value) for value in (one.low, one.likely, one.high))
    return f"{wording.thing(one.input, one.offer)}: from {low} to {high}, most likely {likely}"
