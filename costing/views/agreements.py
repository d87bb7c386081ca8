"""Agreements and valuations of a car, which only its keeper records."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

from django.forms import Form
from django.http import HttpResponse
from django.utils import timezone

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.showing import day, pounds
from costing.actions import correct_agreement, correct_valuation, record_agreement, record_valuation
from costing.forms import AgreementForm, ValuationForm
from costing.queries.listing import agreement_for, valuation_for
from costing.views.car_cost import kept_car_or_404, own_car_or_404
from costing.views.instalments import repeat_offer
from fleet.models import Car
from instructors.access import MemberRequest


@read_or_write
def agreement_add(request: MemberRequest, mark: str) -> HttpResponse:
    """Record how the member holds a car from some day on."""
    car = kept_car_or_404(request.user, mark)
    form = AgreementForm(posted(request), today=timezone.localdate())

    def write(data: dict[str, Any]) -> str:
        agreement = record_agreement(by=request.user, car=car, **data)
        return f"Recorded: {agreement.get_kind_display()} from {day(agreement.starts_on)}."

    return _car_page(request, "costing/agreement_add.html", car, form, write)


@read_or_write
def agreement_correct(request: MemberRequest, mark: str, pk: int) -> HttpResponse:
    """Correct an agreement that the member recorded."""
    car = own_car_or_404(request.user, mark)
    agreement = agreement_for(request.user, car, pk)
    form = AgreementForm(posted(request), today=timezone.localdate(), kept=agreement)

    def write(data: dict[str, Any]) -> str:
        corrected = correct_agreement(by=request.user, agreement=agreement, changes=data)
        return f"Corrected: {corrected.get_kind_display()} from {day(corrected.starts_on)}."

    def shown() -> dict[str, Any]:
        is_keeper = car.keeper_id == request.user.pk
        return {"offer": repeat_offer(agreement, timezone.localdate()) if is_keeper else None, "ref": uuid4()}

    return _car_page(request, "costing/agreement_correct.html", car, form, write, shown)


@read_or_write
def valuation_add(request: MemberRequest, mark: str) -> HttpResponse:
    """Record what a car was worth on one day."""
    car = kept_car_or_404(request.user, mark)
    form = ValuationForm(posted(request), by=request.user, car=car, today=timezone.localdate())

    def write(data: dict[str, Any]) -> str:
        valuation = record_valuation(by=request.user, car=car, **data)
        return f"Recorded: worth {pounds(valuation.value)} on {day(valuation.valued_on)}."

    return _car_page(request, "costing/valuation_add.html", car, form, write)


@read_or_write
def valuation_correct(request: MemberRequest, mark: str, pk: int) -> HttpResponse:
    """Correct a valuation that the member recorded."""
    car = own_car_or_404(request.user, mark)
    valuation = valuation_for(request.user, car, pk)
    form = ValuationForm(posted(request), by=request.user, car=car, today=timezone.localdate(), kept=valuation)

    def write(data: dict[str, Any]) -> str:
        corrected = correct_valuation(by=request.user, valuation=valuation, changes=data)
        return f"Corrected: worth {pounds(corrected.value)} on {day(corrected.valued_on)}."

    return _car_page(request, "costing/valuation_correct.html", car, form, write)


def _car_page(
    request: MemberRequest,
    template: str,
    car: Car,
    form: Form,
    write: Callable[[dict[str, Any]], str],
    shown: Callable[[], dict[str, Any]] = dict,
) -> HttpResponse:
    """Answer one of these form pages; ``write`` saves what the form says and returns the message for the member.

    ``shown`` gives what else the page shows.
    """

    def save() -> HttpResponse:
        return go_on(request, write(form.cleaned_data), "costing:car-cost", car.registration)

    return form_page(request, template, form, save, lambda: {"car": car, **shown()})
