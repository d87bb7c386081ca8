"""Looking over the car of an offer before signing for it."""

from datetime import date

from django.http import Http404, HttpResponse
from django.utils import timezone

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from costing.choosing.core.inputs import offer_named
from costing.choosing.core.look_over import POINTS, LookOver
from costing.choosing.core.mot_history import mot_history
from costing.choosing.document.checks import Unreadable
from costing.choosing.forms.offer_check import OfferCheckForm
from costing.choosing.pictures.look_over import findings, runs_out_words
from costing.choosing.pictures.walk_away import bill_rows, walk_away_words
from costing.choosing.services.comparisons import offer_for
from costing.choosing.services.look_over import look_over_for_store, look_over_of
from costing.choosing.services.stored import case_of, save_look_over, told_of
from costing.models import Offer
from instructors.access import MemberRequest
from instructors.queries import cooperative


@read_or_write
def offer_check(request: MemberRequest, pk: int) -> HttpResponse:
    """What speaks against a car, and the highest price at which it still beats the best other offer."""
    offer = offer_for(request.user, pk)
    if not offer.is_bought:
        raise Http404("nobody buys this car")
    today = timezone.localdate()
    found = look_over_of(offer)
    form = OfferCheckForm(posted(request), found=found, today=today)

    def save() -> HttpResponse:
        save_look_over(by=request.user, offer=offer, look_over=look_over_for_store(form.found))
        return go_on(request, "Saved.", "costing:offer-check", pk)

    def context() -> dict[str, object]:
        return {"offer": offer, "found": found, "point_count": len(POINTS), **_shown(offer, found, today)}

    return form_page(request, "costing/offer_check.html", form, save, context)


def _shown(offer: Offer, found: LookOver, today: date) -> dict[str, object]:
    """What the rows of the MOT history tell, and what the comparison says of price and bills, if it can be read."""
    terms, faults = told_of(offer)
    history = mot_history(found.tests, terms.get("first_registered"), cooperative().nation)
    shown: dict[str, object] = {
        "findings": findings(found, history, today),
        "runs_out": runs_out_words(history, today),
    }
    try:
        case = case_of(offer.comparison)
    except Unreadable:
        return shown
    if faults:
        return shown
    *bills, told = bill_rows(case, offer_named(case, offer.name), found)
    return shown | {"price": walk_away_words(case, offer.name, found), "bills": bills, "bills_told": told}
