"""Putting the car one has beside the offers of a comparison, as one of them."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from costing.choosing.forms.keep_or_replace import KeepForm
from costing.choosing.pictures.kept import put_in
from costing.choosing.services.comparisons import comparison_for
from costing.choosing.services.keep_or_replace import CannotTell, kept_car_of
from costing.choosing.services.stored import NewOffer, add_offer, offers_of, use_of
from fleet.core.registration import normalise
from fleet.queries import cars_of
from instructors.access import MemberRequest

_TEMPLATE = "costing/keep_or_replace.html"


@read_or_write
def keep_or_replace(request: MemberRequest, pk: int) -> HttpResponse:
    """Show what the book knows of one's car, and make it an offer."""
    comparison = comparison_for(request.user, pk)
    today = timezone.localdate()
    cars = cars_of(request.user, today)
    wanted = normalise(request.GET.get("car", ""))
    car = next((car for car in cars if car.registration == wanted), cars[0] if cars else None)
    offers = offers_of(comparison)
    context = {"comparison": comparison, "cars": cars, "car": car}
    if car is None:
        return render(request, _TEMPLATE, context)
    if there := next((offer for offer in offers if offer.kept_id == car.pk), None):
        return render(request, _TEMPLATE, context | {"there": there})
    use = use_of(comparison)
    if "starts_on" not in use or "months" not in use:
        return render(request, _TEMPLATE, context | {"is_unready": True})
    try:
        kept = kept_car_of(request.user, car, use["starts_on"], use["months"], today)
    except CannotTell as reason:
        return render(request, _TEMPLATE, context | {"reason": reason})
    form = KeepForm(posted(request), kept=kept)

    def save() -> HttpResponse:
        terms, sources = kept.offer_terms(form.given), kept.sources(form.given, form.settlement)
        new = NewOffer(kept.kind, kept.name, terms, burns=car.fuel, sources=sources, kept=car)
        offer = add_offer(by=request.user, comparison=comparison, new=new)
        if kept.is_hired:
            words = f"{kept.name} now stands beside the offers. Say what its hire includes, and what leaving costs."
            return go_on(request, words, "costing:offer-terms", offer.pk)
        return go_on(request, f"{kept.name} now stands beside the offers.", "costing:comparison", pk)

    return form_page(request, _TEMPLATE, form, save, context | {"kept": kept, "put_in": list(put_in(kept))})
