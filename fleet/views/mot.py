"""A failed MOT, and the findings of tests that are still open."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from config.form_page import SeeOther, go_on, posted, posted_files
from config.http import read_or_write
from config.showing import day
from fleet import actions, queries
from fleet.core.defects import LegalRule, Severity
from fleet.core.due_kinds import MOT
from fleet.core.mot import FAILURE_RULES, RETEST_RULE, after_failure
from fleet.forms import MotFailForm
from fleet.views.completions import may_log_cost
from fleet.views.due_items import item_page
from instructors.access import MemberRequest
from instructors.queries import cooperative


@read_or_write
def mot_fail(request: MemberRequest, pk: int) -> HttpResponse:
    """Record what a car failed its MOT for: each item becomes a defect; the old certificate stays as it is."""
    item = queries.due_item_for(request.user, pk)
    if not item.due_kind.is_mot or item.car is None:
        raise Http404
    mark, asks_cost = item.car.registration, may_log_cost(request.user, item)
    today = timezone.localdate()
    form = MotFailForm(posted(request), posted_files(request), today=today, asks_cost=asks_cost)
    form.put_odometer(request.user, item.car, today)

    def save() -> HttpResponse:
        actions.record_mot_failure(by=request.user, item=item, **form.cleaned_data)
        tested_on = day(form.cleaned_data["tested_on"])
        words = f"The failed test of {tested_on} is recorded. The car still has to pass an MOT."
        return go_on(request, words, "fleet:mot-findings", mark, level=messages.WARNING)

    return item_page(request, "fleet/mot_fail.html", item, form, save)


@require_POST
def mot_first(request: MemberRequest, mark: str) -> HttpResponse:
    """Begin to record the first MOT test of a car in the book: leads to the page of its result, as for any later one.

    Until that is saved, the item says no more than its rule did before.
    """
    car = queries.car_for(request.user, mark)
    item = actions.ensure_due_item(by=request.user, kind=MOT.name, car=car)
    return SeeOther("fleet:mot-fail" if request.POST.get("result") == "failed" else "fleet:due-item-complete", item.pk)


@require_safe
def mot_findings(request: MemberRequest, mark: str) -> HttpResponse:
    """What MOT tests found on a car and is still open, and what the law allows after a failure."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    item, findings = queries.open_item_of(car, MOT.name), queries.mot_findings_of(car)
    serious = [finding for finding in findings if Severity(finding.severity).stops_car]
    # A first MOT that is not needed yet is not a certificate, and allows nothing that a certificate would.
    expiry = item.due_on if item else None
    rules: tuple[LegalRule, ...] = ()
    if serious:
        is_dangerous = serious[0].severity == Severity.DANGEROUS
        rules = (FAILURE_RULES[after_failure(today, expiry, is_dangerous=is_dangerous)], RETEST_RULE)
    context = {
        "car": car,
        "item": item,
        "findings": findings,
        "serious": serious,
        "expiry": expiry,
        "is_over": expiry is None or expiry < today,
        "rules": rules,
        "is_ni": cooperative().nation == "NI",
    }
    return render(request, "fleet/mot_findings.html", context)
