"""The page of what one car costs its member: how it is held, what it is worth, and the way to its statements."""

from uuid import uuid4

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.queries import cars_with_money_of
from costing.queries.listing import agreements_of, valuations_of
from costing.views.instalments import repeat_offer
from fleet.core.registration import normalise
from fleet.models import Car
from instructors.access import MemberRequest
from instructors.models import Member


@require_safe
def car_cost(request: MemberRequest, mark: str) -> HttpResponse:
    """Show how the member holds a car and what it is worth; what it cost in any period stands on its statement."""
    today = timezone.localdate()
    car = own_car_or_404(request.user, mark)
    agreements, is_keeper = agreements_of(request.user, car), car.keeper_id == request.user.pk
    context = {
        "car": car,
        "today": today,
        "agreements": agreements,
        "offer": repeat_offer(agreements[0], today) if agreements and is_keeper else None,
        "ref": uuid4(),
        "valuations": valuations_of(request.user, car),
        "is_keeper": is_keeper,
    }
    return render(request, "costing/car_cost.html", context)


def own_car_or_404(member: Member, mark: str) -> Car:
    """Return a car that the member keeps or has logged on. Raises Http404 for any other, whatever their role."""
    wanted = normalise(mark)
    for car in cars_with_money_of(member):
        if car.registration == wanted:
            return car
    raise Http404


def kept_car_or_404(member: Member, mark: str) -> Car:
    """Return a car that the member keeps. Raises Http404 for any other, whatever their role."""
    car = own_car_or_404(member, mark)
    if car.keeper_id != member.pk:
        raise Http404
    return car
