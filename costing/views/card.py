"""A car's card with its code, on the page and on paper, and the page that the code opens."""

from typing import Any
from urllib.parse import urlsplit

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.pdf import pdf_response, render_pdf
from config.qr import code_of
from config.site import address_of, is_this_machine
from costing.views.car_cost import kept_car_or_404
from fleet.core.registration import show
from fleet.models import Car
from instructors.access import MemberRequest


@require_safe
def car_log(request: MemberRequest, mark: str) -> HttpResponse:
    """Show its keeper the ways to log for one car, each with that car chosen."""
    car = kept_car_or_404(request.user, mark)
    is_in_service = car.in_service_to is None or car.in_service_to >= timezone.localdate()
    return render(request, "costing/car_log.html", {"car": car, "own_cars": [car] if is_in_service else []})


@require_safe
def car_card(request: MemberRequest, mark: str) -> HttpResponse:
    """Show its keeper the card of a car as it is printed."""
    car = kept_car_or_404(request.user, mark)
    return render(request, "costing/car_card.html", _card(car) | {"is_this_machine": is_this_machine()})


@require_safe
def car_card_sheet(request: MemberRequest, mark: str) -> HttpResponse:
    """The card on paper, once large and once small, with lines to cut along."""
    car = kept_car_or_404(request.user, mark)
    pdf = render_pdf("costing/pdf/card.html", _card(car))
    return pdf_response(pdf, f"{show(car.registration)} card.pdf")


def _card(car: Car) -> dict[str, Any]:
    """What stands on the card. The code says the address and nothing else: no secret, and nobody's name."""
    address = address_of("costing:car-log", car.registration)
    parts = urlsplit(address)
    return {"car": car, "code": code_of(address), "address": f"{parts.netloc}{parts.path}"}
