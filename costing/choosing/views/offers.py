"""Entering the offers of a comparison, step by step."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from config.form_page import SeeOther, button_pressed, form_page, go_on, posted
from config.http import read_or_write
from costing.choosing.forms.offer_steps import STEPS, Step
from costing.choosing.forms.offer_terms import OfferAddForm, OfferTermsForm, excess_words
from costing.choosing.services.finding import comparison_for, offer_for
from costing.choosing.services.saving import add_offer, remove_offer, save_offer
from costing.choosing.services.stored import to_json
from costing.models import Offer
from instructors.access import MemberRequest


@read_or_write
def offer_add(request: MemberRequest, pk: int) -> HttpResponse:
    """Step 1 of a new offer: how the member would have the car, and which car it is."""
    comparison = comparison_for(request.user, pk)
    form = OfferAddForm(posted(request), today=timezone.localdate())

    def save() -> HttpResponse:
        offer = add_offer(
            by=request.user,
            comparison=comparison,
            kind=form.cleaned_data["kind"],
            name=form.cleaned_data["name"],
            terms=to_json(form.terms),
        )
        return SeeOther("costing:offer-terms", offer.pk, STEPS[1].name)

    context = {"comparison": comparison, "count": len(STEPS)}
    return form_page(request, "costing/offer_add.html", form, save, context)


@read_or_write
def offer_terms(request: MemberRequest, pk: int, step: str) -> HttpResponse:
    """One step of an offer. It is saved whether or not the other steps are done."""
    offer = offer_for(request.user, pk)
    number, found = _step_or_404(step)
    form = OfferTermsForm(posted(request), offer=offer, step=found, today=timezone.localdate())

    def save() -> HttpResponse:
        saved = save_offer(
            by=request.user,
            offer=offer,
            name=form.cleaned_data.get("name", offer.name),
            terms=to_json(form.terms),
            is_complete=form.is_complete,
        )
        saved.comparison = offer.comparison
        words = excess_words(saved) if "mileage_allowance" in found.asks(saved.kind) else ""
        return go_on(request, f"Saved. {words}".strip(), _after(saved, number))

    context = {
        "offer": offer,
        "step": found,
        "number": number,
        "count": len(STEPS),
        "previous": STEPS[number - 2] if number > 1 else None,
        "excess": excess_words(offer) if "mileage_allowance" in form.fields else "",
    }
    return form_page(request, "costing/offer_terms.html", form, save, context)


@read_or_write
def offer_remove(request: MemberRequest, pk: int) -> HttpResponse:
    """Ask first, then remove an offer."""
    offer = offer_for(request.user, pk)

    def remove() -> str:
        remove_offer(by=request.user, offer=offer)
        return f"Removed: {offer.name}."

    if request.method == "POST":
        return button_pressed(request, remove, "costing:comparison-list")
    return render(request, "costing/offer_remove.html", {"offer": offer})


def _step_or_404(name: str) -> tuple[int, Step]:
    for number, step in enumerate(STEPS, 1):
        if step.name == name:
            return number, step
    raise Http404


def _after(offer: Offer, number: int) -> str:
    """The next step, or the comparison after the last."""
    if number < len(STEPS):
        return reverse("costing:offer-terms", args=[offer.pk, STEPS[number].name])
    return reverse("costing:comparison", args=[offer.comparison_id])
