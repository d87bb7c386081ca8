"""What to charge: the answer in sentences, the plan that it rests on, the drawing and the table behind it."""

from typing import Any

from django.http import HttpResponse
from django.utils import timezone

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from costing.models import ChargePlan
from costing.planning.forms.charging import ChargeForm
from costing.planning.pictures.charge_table import lines_of
from costing.planning.pictures.charging import ChargePicture, in_the_book
from costing.planning.report import own_cost
from costing.planning.services.charging import save_plan
from costing.queries.charging import charge_plan_of
from instructors.access import MemberRequest


@read_or_write
def charge(request: MemberRequest) -> HttpResponse:
    """Say what an hour leaves at the price of the plan, and what it takes for more; the form saves the plan."""
    plan, today = charge_plan_of(request.user), timezone.localdate()
    form = ChargeForm(posted(request), by=request.user, plan=plan, today=today)

    def save() -> HttpResponse:
        save_plan(by=request.user, values=form.cleaned_data)
        return go_on(request, "Saved: this is what follows.", "costing:charge")

    def context() -> dict[str, Any]:
        own = own_cost(request.user, today)
        picture = ChargePicture(plan or ChargePlan(), own)
        form.put_own(in_the_book(own, form.weeks))
        shown = {"sentences": list(picture.sentences()), "lines": list(lines_of(picture))}
        return {"picture": picture, "own": own, **shown}

    return form_page(request, "costing/charge.html", form, save, context)
