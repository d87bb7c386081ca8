"""Entering an offer: everything that a quote says, on one page."""

from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from config.form_page import button_pressed, form_page, go_on, posted
from config.http import HtmxRequest, read_or_write
from costing.choosing.forms.offers import OfferForm, OfferSoFar
from costing.choosing.services.finding import comparison_for, offer_for
from costing.choosing.services.saving import add_offer, remove_offer, save_offer
from costing.choosing.services.starting_figures import Proposal, proposed_running, running_of_offer
from costing.choosing.services.stored import typed_offer, typed_use
from costing.core.catalogue.agreements import AGREEMENT_KINDS, AgreementKind
from costing.models import Comparison, Offer
from instructors.access import MemberRequest
from instructors.models import Member

#: Keys that show the page again, with nothing saved: another kind, and the figures of a quote.
_SHOW_AGAIN = {"as_kind", "read_quote"}


@read_or_write
def offer_add(request: MemberRequest, pk: int) -> HttpResponse:
    """A new offer of the kind that the address or the form names."""
    return _offer_page(request, comparison_for(request.user, pk), None)


@read_or_write
def offer_terms(request: MemberRequest, pk: int) -> HttpResponse:
    """An offer as far as it is told. It is saved whether or not it can be compared yet."""
    offer = offer_for(request.user, pk)
    return _offer_page(request, offer.comparison, offer)


def _offer_page(request: MemberRequest, comparison: Comparison, offer: Offer | None) -> HttpResponse:
    so_far = OfferSoFar(typed_offer(offer), offer.burns, offer.sources) if offer else OfferSoFar({})
    form = OfferForm(
        posted(request) if not _is_shown_again(request) else None,
        way=_way(request, offer),
        comparison=comparison,
        use=typed_use(comparison),
        so_far=so_far,
        today=timezone.localdate(),
        typed=request.POST if _is_shown_again(request) else None,
    )
    context = {"comparison": comparison, "offer": offer}
    if request.method == "POST" and "running" in request.GET:
        return _running_shown(request, form, context)
    if _is_shown_again(request):
        template = "costing/_offer_slip.html" if request.htmx else _template(offer)
        return render(request, template, {"form": form, **context})
    return form_page(request, _template(offer), form, lambda: _saved(request, form, comparison, offer), context)
