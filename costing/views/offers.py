"""Entering the offers of a comparison, a step at a time."""

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from config.fields import PoundsField
from config.http import read_or_write
from costing.actions.choosing import add_offer, remove_offer, save_offer
from costing.forms.offer_steps import STEPS, Step
from costing.forms.offer_terms import OfferAddForm, OfferTermsForm, excess_words
from costing.models import Offer
from costing.offers.stored import kept
from costing.queries.choosing import comparison_for, offer_for
from costing.views import MemberRequest
from costing.views.answers import SeeOther, put_refusal

#: What stands after a field; a sum has its pound sign before it.
_UNITS = {"quoted_apr": "%", "excess_pence_per_mile": "p", "mileage_allowance": "miles"}


@read_or_write
def offer_add(request: MemberRequest, pk: int) -> HttpResponse:
    """Step 1 of a new offer: how the car would be had, and which it is."""
    comparison = comparison_for(request.user, pk)
    form = OfferAddForm(request.POST if request.method == "POST" else None, today=timezone.localdate())
    if form.is_bound and form.is_valid():
        try:
            offer = add_offer(
                by=request.user,
                comparison=comparison,
                kind=form.cleaned_data["kind"],
                name=form.cleaned_data["name"],
                terms=kept(form.terms),
            )
        except ValidationError as refusal:
            put_refusal(form, refusal)
        else:
            return SeeOther(_address(offer, STEPS[1]))
    page = {"comparison": comparison, "form": form, "count": len(STEPS)}
    return render(request, "costing/offer_add.html", page)


@read_or_write
def offer_terms(request: MemberRequest, pk: int, step: str) -> HttpResponse:
    """One step of an offer; what is saved stays, whether or not the other steps are done."""
    offer = offer_for(request.user, pk)
    number, found = _step_or_404(step)
    form = OfferTermsForm(
        request.POST if request.method == "POST" else None, offer=offer, step=found, today=timezone.localdate()
    )
    if form.is_bound and form.is_valid():
        try:
            saved = save_offer(
                by=request.user,
                offer=offer,
                name=form.cleaned_data.get("name", offer.name),
                terms=kept(form.terms),
                is_complete=form.is_complete,
            )
        except ValidationError as refusal:
            put_refusal(form, refusal)
        else:
            saved.comparison = offer.comparison
            words = excess_words(saved) if "mileage_allowance" in found.asks(saved.kind) else ""
            messages.success(request, f"Saved. {words}".strip())
            return SeeOther(_after(saved, number))
    page = {
        "offer": offer,
        "form": form,
        "step": found,
        "number": number,
        "count": len(STEPS),
        "previous": STEPS[number - 2] if number > 1 else None,
        "rows": _rows_of(form),
        "excess": excess_words(offer) if "mileage_allowance" in form.fields else "",
    }
    return render(request, "costing/offer_terms.html", page)


@read_or_write
def offer_remove(request: MemberRequest, pk: int) -> HttpResponse:
    """Ask, then remove an offer."""
    offer = offer_for(request.user, pk)
    if request.method == "POST":
        try:
            remove_offer(by=request.user, offer=offer)
        except ValidationError as refusal:
            messages.error(request, " ".join(refusal.messages))
        else:
            messages.success(request, f"Removed: {offer.name}.")
        return SeeOther(reverse("costing:comparison-list"))
    return render(request, "costing/offer_remove.html", {"offer": offer})


def _rows_of(form: forms.Form) -> list[tuple[forms.BoundField, str, str]]:
    """Each field with the sign before it and the unit after it."""
    return [(field, "£" if isinstance(field.field, PoundsField) else "", _UNITS.get(field.name, "")) for field in form]


def _step_or_404(name: str) -> tuple[int, Step]:
    for number, step in enumerate(STEPS, 1):
        if step.name == name:
            return number, step
    raise Http404


def _address(offer: Offer, step: Step) -> str:
    return reverse("costing:offer-terms", args=[offer.pk, step.name])


def _after(offer: Offer, number: int) -> str:
    """The next step, or the comparison after the last."""
    if number < len(STEPS):
        return _address(offer, STEPS[number])
    return reverse("costing:comparison", args=[offer.comparison_id])
