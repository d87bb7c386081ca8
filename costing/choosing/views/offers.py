"""Entering an offer: everything that a quote says, on one page."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from config.form_page import button_pressed, form_page, go_on, posted
from config.http import read_or_write
from costing.choosing.forms.folds import RUNNING_HEAD
from costing.choosing.forms.offers import OfferForm, OfferSoFar
from costing.choosing.services.comparisons import comparison_for, offer_for
from costing.choosing.services.starting_figures import Proposal, proposed_running, running_of_offer
from costing.choosing.services.stored import NewOffer, add_offer, remove_offer, save_offer, sources_of, told_of, use_of
from costing.core.catalogue.agreements import AGREEMENT_KINDS, AgreementKind
from costing.core.catalogue.running import AS_ASKED
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
    so_far = OfferSoFar({})
    if offer:
        values, faults = told_of(offer)
        so_far = OfferSoFar(values, offer.burns, sources_of(offer), faults)
    form = OfferForm(
        posted(request) if not _is_shown_again(request) else None,
        way=_way(request, offer),
        use=use_of(comparison),
        so_far=so_far,
        today=timezone.localdate(),
        typed=request.POST if _is_shown_again(request) else None,
    )
    context = {"comparison": comparison, "offer": offer}
    if request.method == "POST" and "running" in request.GET:
        return _running_shown(request, form)
    if _is_shown_again(request):
        template = "costing/_offer_slip.html" if request.htmx else _template(offer)
        return render(request, template, {"form": form, **context})
    return form_page(request, _template(offer), form, lambda: _saved(request, form, comparison, offer), context)


def _running_shown(request: MemberRequest, form: OfferForm) -> HttpResponse:
    """The fold of running costs with what is proposed for the fuel just chosen. Nothing is saved."""
    form.full_clean()
    proposal = _running_of(request.user, form)
    shown = OfferForm(way=form.way, use=form.use, so_far=form.so_far, today=timezone.localdate(), typed=request.POST)
    shown.show_running(form.running, proposal)
    fold = next(fold for fold in shown.folds if fold.name == "running")
    return render(request, "costing/_fold.html", {"form": shown, "fold": fold._replace(is_open=True)})


def _saved(request: MemberRequest, form: OfferForm, comparison: Comparison, offer: Offer | None) -> HttpResponse:
    proposal = _running_of(request.user, form)
    new = NewOffer(
        form.way.name,
        form.cleaned_data["name"],
        form.terms | ({"running": proposal.running} if proposal.running else {}),
        form.burns,
        proposal.sources,
        offer.kept if offer else None,
    )
    if offer is None:
        offer = add_offer(by=request.user, comparison=comparison, new=new)
    else:
        save_offer(by=request.user, offer=offer, new=new)
    words = " ".join(filter(None, ("Saved.", form.missing_words, _proposed_words(form, proposal, offer))))
    if "then_another" in form.data:
        return go_on(request, words, "costing:offer-add", comparison.pk)
    if form.missing:
        return go_on(request, words, "costing:offer-terms", offer.pk)
    return go_on(request, words, "costing:comparison", comparison.pk)


def _running_of(member: Member, form: OfferForm) -> Proposal:
    """The offer's own running costs with what the book proposes for its fuel."""
    today = timezone.localdate()
    proposals = {fuel: proposed_running(member, fuel, today) for fuel in {form.burns, form.proposed_for} if fuel}
    nothing = Proposal({}, {})
    return running_of_offer(
        told=form.running,
        included=form.terms.get("includes", ()),
        saved=Proposal(dict(form.so_far.values.get("running", {})), dict(form.so_far.sources)),
        shown=proposals.get(form.proposed_for, nothing),
        proposed=proposals.get(form.burns, nothing),
    )


def _proposed_words(form: OfferForm, proposal: Proposal, offer: Offer) -> str:
    """Which running costs the book has filled in that nobody has looked at, and where they stand."""
    filled = [part.missing for part in AS_ASKED if part.key in proposal.running.keys() - form.running.keys()]
    where = f"offer {offer.letter}, under “{RUNNING_HEAD}”"
    return f"Filled in for you: {', '.join(filled)}. Look them over in {where}." if filled else ""


def _way(request: MemberRequest, offer: Offer | None) -> AgreementKind:
    """The kind chosen last: by a key, in the form, in the address, or the offer's own."""
    asked = (request.POST.get("as_kind"), request.POST.get("kind"), request.GET.get("kind"), offer and offer.kind)
    return next(
        (AGREEMENT_KINDS[kind] for kind in asked if kind in AGREEMENT_KINDS), next(iter(AGREEMENT_KINDS.values()))
    )


def _is_shown_again(request: MemberRequest) -> bool:
    return any(key in request.POST for key in _SHOW_AGAIN)


def _template(offer: Offer | None) -> str:
    return "costing/offer_terms.html" if offer else "costing/offer_add.html"


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
