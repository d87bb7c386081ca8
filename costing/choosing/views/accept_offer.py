"""From an accepted offer to the car, and what became of it."""

from datetime import date
from decimal import Decimal

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import SeeOther, form_page, go_on, posted
from config.http import read_or_write
from costing.choosing.document.checks import Unreadable
from costing.choosing.forms.accept_offer import AcceptOfferForm
from costing.choosing.pictures.so_far import notes, spending_rows, total_expected, usage_rows, verdict
from costing.choosing.services.accepting import accept_offer
from costing.choosing.services.comparisons import fit_out_costs_of, offer_for
from costing.choosing.services.expected_and_actual import NotYet, expected_and_actual_of
from costing.choosing.services.stored import offer_of, use_of
from costing.models import Offer
from fleet.core.findings import Verdict, readiness
from fleet.core.registration import show
from fleet.core.requirements import LISTS
from fleet.models import Car
from fleet.queries import cars_of, due_report, facts_of
from instructors.access import MemberRequest


@read_or_write
def offer_accept(request: MemberRequest, pk: int) -> HttpResponse:
    """Make an offer a car; after that, show what is still to do before the first lesson in it."""
    offer = offer_for(request.user, pk)
    if offer.kept is not None:
        raise Http404("one has this car already")
    if offer.car is not None:
        return _accepted(request, offer, offer.car)
    today = timezone.localdate()
    try:
        terms = offer_of(offer)
    except Unreadable:
        return render(request, "costing/offer_accept.html", {"offer": offer})
    form = AcceptOfferForm(
        posted(request),
        today=today,
        offer=terms,
        burns=offer.burns,
        starts_on=_planned_start(offer, today),
        cars=cars_of(request.user, today),
    )

    def save() -> HttpResponse:
        car, _ = accept_offer(by=request.user, offer=offer, terms=terms, **form.cleaned_data)
        return go_on(request, f"{offer.name} is now {show(car.registration)}.", "costing:offer-accept", pk)

    return form_page(request, "costing/offer_accept.html", form, save, {"offer": offer})


def _accepted(request: MemberRequest, offer: Offer, car: Car) -> HttpResponse:
    """What an offer became; posting the form a second time changes nothing."""
    if request.method == "POST":
        return SeeOther("costing:offer-accept", offer.pk)
    is_keeper = car.keeper == request.user
    # Once the car has been handed over, its condition is its new keeper's affair.
    report = due_report(timezone.localdate(), cars=[car], members=[car.keeper])
    found = readiness(LISTS["teach"], facts_of(car, report)).findings if is_keeper else ()
    costs = fit_out_costs_of(request.user, car)
    context = {
        "offer": offer,
        "car": car,
        "is_keeper": is_keeper,
        "open": [finding.point.words for finding in found if finding.verdict is not Verdict.MET],
        "met_count": sum(finding.verdict is Verdict.MET for finding in found),
        "costs": costs,
        "cost_total": sum((cost.amount for cost in costs), Decimal(0)),
    }
    return render(request, "costing/offer_accept.html", context)


def _planned_start(offer: Offer, today: date) -> date:
    starts_on: date = use_of(offer.comparison).get("starts_on", today)
    return starts_on


@require_safe
def expected_and_actual(request: MemberRequest, pk: int) -> HttpResponse:
    """What was expected of an offer, beside what its car has cost so far."""
    offer = offer_for(request.user, pk)
    try:
        found = expected_and_actual_of(request.user, offer, timezone.localdate())
    except NotYet as reason:
        return render(request, "costing/expected_and_actual.html", {"offer": offer, "reason": reason})
    context = {
        "offer": offer,
        "found": found,
        "verdict": verdict(found),
        "notes": notes(found),
        "total_expected": total_expected(found),
        "spending": spending_rows(found),
        "usage": usage_rows(found),
    }
    return render(request, "costing/expected_and_actual.html", context)
