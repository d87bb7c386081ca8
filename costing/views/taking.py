"""From the chosen offer to the car, and what became of it."""

from datetime import date
from decimal import Decimal

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import SeeOther, form_page, go_on, posted
from config.http import read_or_write
from costing.actions.taking import take_offer
from costing.forms.taking import TakeForm
from costing.models import Offer
from costing.offers.faults import Unreadable
from costing.offers.outcome import NotYet, outcome_of
from costing.offers.stored import told
from costing.offers.taking import agreement_of, terms_of
from costing.queries.choosing import offer_for
from costing.queries.taking import fit_out_costs_of
from fleet.core.findings import Verdict, readiness
from fleet.core.registration import show
from fleet.core.requirements import LISTS
from fleet.models import Car
from fleet.queries import cars_of, facts_of
from instructors.access import MemberRequest


@read_or_write
def offer_take(request: MemberRequest, pk: int) -> HttpResponse:
    """Make the chosen offer a car; once it is one, what is still to be done before its first lesson."""
    offer = offer_for(request.user, pk)
    if offer.car is not None:
        return _taken(request, offer, offer.car)
    today = timezone.localdate()
    try:
        terms = terms_of(offer)
    except Unreadable:
        return render(request, "costing/offer_take.html", {"offer": offer})
    form = TakeForm(
        posted(request),
        today=today,
        offer=terms,
        starts_on=_planned_start(offer, today),
        cars=cars_of(request.user, today),
    )

    def save() -> HttpResponse:
        car, _ = take_offer(by=request.user, offer=offer, agreement=agreement_of(terms), **form.cleaned_data)
        return go_on(request, f"{offer.name} is now {show(car.registration)}.", "costing:offer-take", pk)

    return form_page(request, "costing/offer_take.html", form, save, {"offer": offer})


def _taken(request: MemberRequest, offer: Offer, car: Car) -> HttpResponse:
    """What an offer became; sent again, the page asks for nothing and changes nothing."""
    if request.method == "POST":
        return SeeOther("costing:offer-take", offer.pk)
    found = readiness(LISTS["teach"], facts_of(car, timezone.localdate())).findings
    costs = fit_out_costs_of(request.user, car)
    context = {
        "offer": offer,
        "car": car,
        "is_keeper": car.keeper == request.user,
        "open": [finding.point.words for finding in found if finding.verdict is not Verdict.MET],
        "met_count": sum(finding.verdict is Verdict.MET for finding in found),
        "costs": costs,
        "cost_total": sum((cost.amount for cost in costs), Decimal(0)),
    }
    return render(request, "costing/offer_take.html", context)


def _planned_start(offer: Offer, today: date) -> date:
    starts_on = told("use", offer.comparison.use).get("starts_on")
    return starts_on if isinstance(starts_on, date) else today


@require_safe
def offer_outcome(request: MemberRequest, pk: int) -> HttpResponse:
    """What was expected of an offer beside what its car really cost so far."""
    offer = offer_for(request.user, pk)
    try:
        outcome = outcome_of(request.user, offer, timezone.localdate())
    except NotYet as reason:
        return render(request, "costing/offer_outcome.html", {"offer": offer, "reason": reason})
    return render(request, "costing/offer_outcome.html", {"offer": offer, "outcome": outcome})
