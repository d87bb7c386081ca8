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
from costing.choosing.core.case import Case, Uncertain
from costing.choosing.core.odds import DRAWS
from costing.choosing.document.checks import Unreadable
from costing.choosing.document.reading import Document
from costing.choosing.forms.assumptions import RangesForm, WhatIfForm
from costing.choosing.forms.offer_terms import step_with
from costing.choosing.pictures import charts, half_rule, sentences, sources, table, wording
from costing.choosing.pictures.odds_table import odds_rows
from costing.choosing.pictures.sheet import sheet_of
from costing.choosing.report import OffersReport, report_of, usual_ranges, with_ranges
from costing.choosing.services.finding import comparison_for, letters_of, offers_of
from costing.choosing.services.saving import save_uncertain
from costing.choosing.services.stored import document_of, tables_of, to_json
from costing.models import Comparison
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
    """All offers, each unfinished one with the step to go on with; and those that are compared."""
    offers = offers_of(found)
    return {
        "has_accepted_offer": any(offer.chosen_on for offer in offers),
        "all_offers": [(offer, step_with(offer)) for offer in offers],
        "offers": [offer for offer in offers if offer.is_complete],
    }


def _page(report: OffersReport, found: Comparison) -> dict[str, Any]:
    offers = _offers(found)
    letters = {offer.name: offer.letter for offer, _ in offers["all_offers"]}
    columns = table.columns_of(report, letters)
    summaries = [sentences.what_if_summary(report.base, result) for result in report.what_ifs]
    return {
        "report": report,
        "use": report.case.use,
        "use_words": sources.use_in_words(report.case.use),
        "columns": columns,
        **_answer(columns),
        "groups": table.groups_of(report, columns),
        "words_of": list(zip(columns, _by_offer(table.worded_rows(columns)), strict=True)),
        "money": charts.money_chart(columns),
        "money_groups": [table.TableGroup("", table.money_rows(columns))],
        "running": charts.running_chart(columns),
        "running_groups": [table.TableGroup("", table.running_total_rows(report, columns))],
        "overtakings": sentences.overtakings(report.base.figures, report.case.use),
        "what_ifs": [(one, letters[one.cheapest]) for one in summaries],
        "what_if_groups": [table.TableGroup("", table.what_if_rows(report.what_ifs, columns, sentences.change))],
        "running_costs": sources.running_sources(found, report.case),
        "assumed": [wording.assumed(report.case, key) for key in report.assumed],
        "half_rules": half_rule.half_rules(report.case),
        **offers,
    }


def _answer(columns: list[table.OfferColumn]) -> dict[str, Any]:
    """The cheapest offer, the one that follows it, and by how much."""
    best, *others = sorted(columns, key=lambda one: one.figures.total)
    if not others:
        return {"best": best}
    apart = others[0].figures.total - best.figures.total
    return {"best": best, "following": others[0], "lead": pence_as_pounds(apart) if apart else ""}


def _by_offer(rows: list[table.TableRow]) -> list[list[tuple[str, table.TableCell]]]:
    """The rows of a table turned into a list for each offer."""
    return [list(pairs) for pairs in zip(*([(row.label, cell) for cell in row.cells] for row in rows), strict=True)]


@require_safe
@vary_on_headers("HX-Request")
def comparison_switching(request: MemberRequest, pk: int) -> HttpResponse:
    """For each pair of offers, the values at which the cheaper one changes."""
    found = comparison_for(request.user, pk)
    document = _document_or_none(found)
    if document is None:
        return redirect("costing:comparison", pk)
    report = OffersReport.of(document)
    letters, cheapest = letters_of(found), report.cheapest.offer.name
    pairs = [(pair, letters[pair.cheaper], letters[pair.than]) for pair in sentences.pairs(report.switching)]
    context = {
        "comparison": found,
        "pairs": [row for row in pairs if cheapest in (row[0].cheaper, row[0].than)],
        "others": [row for row in pairs if cheapest not in (row[0].cheaper, row[0].than)],
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
    columns = table.columns_of(report, letters_of(found))
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
