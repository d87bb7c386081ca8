"""A comparison of offers: its page, what would change the answer, the odds, and the decision sheet."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe
from django.views.decorators.vary import vary_on_headers

from config.form_page import form_page, go_on, page_or_fragment, posted
from config.http import read_or_write
from config.pdf import pdf_response, render_pdf
from costing.choosing.core.case import Case, Use, WeeksOff
from costing.choosing.core.chances import DRAWS
from costing.choosing.core.inputs import inputs_of
from costing.choosing.document.checks import Unreadable
from costing.choosing.document.schema import Tables
from costing.choosing.forms.assumptions import AskedRange, RangesForm, WhatIfForm
from costing.choosing.pictures import odds, sentences
from costing.choosing.pictures.answer import lead_of
from costing.choosing.pictures.facts import facts_of
from costing.choosing.pictures.kept import kept_facts, kept_words
from costing.choosing.pictures.page import Asked, page_of
from costing.choosing.pictures.sheet import SPARE, seems_long, sheet_of
from costing.choosing.pictures.sources import running_sources
from costing.choosing.pictures.what_if import usual_month, usual_weeks
from costing.choosing.pictures.wording import still_needed
from costing.choosing.report import OffersReport
from costing.choosing.services.comparisons import comparison_for, letters_of, save_uncertain
from costing.choosing.services.stored import Stored, case_in, offers_of, sources_of, stored_of
from costing.models import Comparison
from instructors.access import MemberRequest
from instructors.models import Grade

#: What a reader asks of the page in its address, besides the fields of its form.
_SHOWN_HOW = ("show", "by", "purse", "chances")


@require_safe
def comparison(request: MemberRequest, pk: int) -> HttpResponse:
    """The offers side by side, where the money goes and what could happen; or what is still missing."""
    found = comparison_for(request.user, pk)
    read = stored_of(found)
    try:
        report = OffersReport(case_in(read))
    except Unreadable as unready:
        return render(request, "costing/comparison.html", _missing(found, read, unready))
    use, of_attempts = report.case.use, _is_of_attempts(request)
    with_chances = of_attempts or bool(use.leaving)
    names = [name for name in WhatIfForm.base_fields if name in request.GET]
    form = WhatIfForm(request.GET if names else None, months=use.months, with_licence=of_attempts)
    kept = _kept_car(found, report)
    asked = _asked(request, form, use)._replace(kept_price=kept[1] if kept else 0)
    page, offers = page_of(report, letters_of(found), asked, with_chances=with_chances), _offers(found, read)
    letters = page["shown"].letters
    context = {
        **{"comparison": found, "asked": asked, "form": form, "kept": _kept(request)},
        "of_kept": kept_words(*kept, has_purse=page["has_purse"]) if kept else "",
        **offers,
        **page,
        **_more(found, report, letters),
        "of_attempts": of_attempts,
        "in_table": [row for row in offers["all_offers"] if row[0].letter in letters],
        "not_in_table": [row for row in offers["all_offers"] if row[0].letter not in letters],
    }
    return render(request, "costing/comparison.html", context)


def _is_of_attempts(request: MemberRequest) -> bool:
    """What concerns attempts to qualify is for trainees, and for whoever asks."""
    return request.user.grade == Grade.PDI or request.GET.get("chances") == "yes"


def _asked(request: MemberRequest, form: WhatIfForm, use: Use) -> Asked:
    """What the address asks for; what it leaves open, or gets wrong, is as usual."""
    told: Mapping[str, Any] = form.cleaned_data if form.is_valid() else {}
    usual = usual_weeks(use)
    weeks, from_week = told.get("weeks"), told.get("from_week")
    return Asked(
        told.get("leave") or usual_month(use),
        WeeksOff(from_week or (1 if weeks else usual.from_week), weeks or usual.weeks),
        tuple(request.GET.getlist("show")),
        told.get("licence"),
        is_by_purse=request.GET.get("by") == "purse",
        is_affordable=request.GET.get("purse") == "above",
    )


def _kept(request: MemberRequest) -> list[tuple[str, str]]:
    """What the address says already of how the page is shown, which its form keeps."""
    return [(name, value) for name in _SHOWN_HOW for value in request.GET.getlist(name)]


def _kept_car(found: Comparison, report: OffersReport) -> tuple[str, int] | None:
    """The letter of the car that the member owns and may keep, and its price; None without one in the report."""
    letters = {offer.name: offer.letter for offer in offers_of(found) if offer.kept_id is not None}
    cars = [(letters[one.name], one.price) for one in report.case.offers if one.name in letters]
    return next(((letter, price) for letter, price in cars if price), None)


def _missing(found: Comparison, read: Stored, unready: Unreadable) -> dict[str, Any]:
    """The steps to take before offers can be compared."""
    tables, offers = {fault.place[0] for fault in unready.faults}, _offers(found, read)
    of_use = {str(fault.place[-1]) for fault in unready.faults if fault.place[0] == "use"}
    count = len(offers["all_offers"])
    return {
        "comparison": found,
        "wants_use": bool(of_use),
        "wants_running": "running" in tables,
        "use_words": still_needed(count, of_use) if of_use and count else "",
        "wrong_besides": [f"{fault.key}: this {fault.words}." for fault in unready.faults if fault.place != ("offer",)],
        **offers,
    }


def _offers(found: Comparison, read: Stored) -> dict[str, Any]:
    """All offers, each with what is wrong with one that can't be compared."""
    offers = offers_of(found)
    return {
        "has_accepted_offer": any(offer.chosen_on for offer in offers),
        "all_offers": [(offer, offer.pk in read.left_out) for offer in offers],
    }


def _more(found: Comparison, report: OffersReport, letters: Sequence[str]) -> dict[str, Any]:
    """What there is to know of each offer that is compared, its own running costs, and the common ones."""
    use, by_name = report.case.use, {offer.name: offer for offer in offers_of(found)}
    more = []
    for one in report.figures:
        offer = by_name[one.offer.name]
        own = running_sources(one.offer.running, sources_of(offer), use.nation)
        more.append((offer, [*kept_facts(offer), *facts_of(report, one)], own))
    return {
        "more": [row for row in more if row[0].letter in letters],
        "more_besides": [row for row in more if row[0].letter not in letters],
        "running_costs": running_sources(report.case.running, sources_of(found), use.nation),
    }


@require_safe
@vary_on_headers("HX-Request")
def comparison_switching(request: MemberRequest, pk: int) -> HttpResponse:
    """For each pair of offers, the values at which the cheaper one changes."""
    found = comparison_for(request.user, pk)
    report = _report_or_none(stored_of(found))
    if report is None:
        return redirect("costing:comparison", pk)
    letters = letters_of(found)
    lead = lead_of(report.figures, report.verdicts)
    leader = letters[lead.name] if lead else ""
    pairs = sentences.pairs(report.switching, report.verdicts, letters)
    context = {
        "comparison": found,
        "pairs": [pair for pair in pairs if not leader or leader in (pair.cheaper, pair.than)],
        "others": [pair for pair in pairs if leader and leader not in (pair.cheaper, pair.than)],
        "is_alone": len(report.figures) == 1,
    }
    return render(request, page_or_fragment(request, "costing/comparison_switching.html"), context)


@require_safe
@vary_on_headers("HX-Request")
def comparison_odds(request: MemberRequest, pk: int) -> HttpResponse:
    """How often each offer is the cheapest when the uncertain figures are drawn at random."""
    found = comparison_for(request.user, pk)
    report = _report_or_none(stored_of(found))
    if report is None:
        return redirect("costing:comparison", pk)
    letters = letters_of(found)
    context = {
        "comparison": found,
        "draws": DRAWS,
        "reason": report.odds_reason,
        "ranges": list(odds.ranges_in_words(report.case, letters)),
        "by_chances": bool(report.case.use.leaving),
        "without_range": [sentences.thing(place, letters) for place in report.without_range],
        "ranges_drawn": odds.odds_chart(report.odds, letters) if report.odds else None,
        "rows": odds.odds_rows(report.odds, letters) if report.odds else [],
    }
    return render(request, page_or_fragment(request, "costing/comparison_odds.html"), context)


@read_or_write
def comparison_ranges(request: MemberRequest, pk: int) -> HttpResponse:
    """The member's own ranges for the uncertain figures; a range told with an offer is changed there."""
    found = comparison_for(request.user, pk)
    read = stored_of(found)
    report = _report_or_none(read)
    if report is None:
        return redirect("costing:comparison", pk)
    asked = _asked_ranges(report.case, read.tables, letters_of(found))
    form = RangesForm(posted(request), asked=asked, tables=read.tables)

    def save() -> HttpResponse:
        rows = form.cleaned_data["uncertain"]
        save_uncertain(by=request.user, comparison=found, uncertain=rows)
        words = "Your ranges are saved." if rows else "No figure has a range of your own now."
        return go_on(request, words, "costing:comparison-odds", pk)

    return form_page(request, "costing/comparison_ranges.html", form, save, {"comparison": found})


def _asked_ranges(case: Case, tables: Tables, letters: Mapping[str, str]) -> list[AskedRange]:
    """Every figure that may have a range of its own, in words."""
    own = {(row["input"], row.get("offer", "")) for row in tables["uncertain"]}
    asked = []
    for one in inputs_of(case):
        place = one.place
        is_told_elsewhere = one.spread is not None and (place.input, place.offer) not in own
        if not is_told_elsewhere and not (place.input == "months" and case.use.leaving):
            asked.append(AskedRange(sentences.thing(place, letters), place, one.base, one.spread))
    return asked


@require_safe
def comparison_sheet(request: MemberRequest, pk: int) -> HttpResponse:
    """The decision sheet, on two sides of paper."""
    found = comparison_for(request.user, pk)
    report = _report_or_none(stored_of(found))
    if report is None:
        return redirect("costing:comparison", pk)
    today = timezone.localdate()
    pdf = render_pdf("costing/pdf/decision.html", sheet_of(found, report), spare=SPARE, pages=2, seems_long=seems_long)
    return pdf_response(pdf, f"{found.name} {today}.pdf")


def _report_or_none(read: Stored) -> OffersReport | None:
    """The report; None while something is missing, which the comparison's own page says."""
    try:
        return OffersReport(case_in(read))
    except Unreadable:
        return None
