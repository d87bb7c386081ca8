"""Who may see which car and due item: pages fetch them only through here."""

from collections.abc import Collection
from datetime import date

from django.db.models import Q, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from fleet.core import registration as marks
from fleet.models import Car, Completion, DueItem
from instructors.models import Member


def cars_visible_to(member: Member) -> QuerySet[Car]:
    """The cars whose due items ``member`` may see: all of them for a coordinator, else the ones they keep."""
    cars = Car.objects.select_related("keeper")
    return cars if member.is_coordinator else cars.filter(keeper=member)


def car_for(member: Member, registration: str) -> Car:
    """The car with this mark, however it is typed; Http404 if there is none or ``member`` may not see it."""
    return get_object_or_404(cars_visible_to(member), registration=marks.normalise(registration))


def due_item_for(member: Member, pk: int) -> DueItem:
    """An open due item that ``member`` may see and write: of a car visible to them, or their own credential.

    Raises Http404 if there is none such.
    """
    item = get_object_or_404(DueItem.objects.select_related("car__keeper", "member"), pk=pk, closed_on__isnull=True)
    subject = item.car.keeper if item.car else item.member
    if subject != member and not member.is_coordinator:
        raise Http404
    return item


def cars_of(member: Member, on: date | None = None) -> list[Car]:
    """The cars ``member`` keeps; with ``on``, those in service on that day or later."""
    cars = member.cars.all()
    return list(cars if on is None else cars.filter(in_service_after(on)))


def marks_by_keeper(on: date) -> dict[int, list[str]]:
    """The ``settings.MARKS_BY_KEEPER``: by member id, the marks of the cars in service on ``on`` or later."""
    kept: dict[int, list[str]] = {}
    for keeper, registration in Car.objects.filter(in_service_after(on)).values_list("keeper_id", "registration"):
        kept.setdefault(keeper, []).append(marks.show(registration))
    return kept


def every_car() -> list[Car]:
    """Every car of the book with its keeper, in service or not: for commands, archives and the group's figures."""
    return list(Car.objects.select_related("keeper"))


def cars_with_ids(ids: Collection[int]) -> list[Car]:
    """The cars with these ids, whoever keeps them: the caller knows that its member may see them."""
    return list(Car.objects.filter(pk__in=ids)) if ids else []


def in_service_after(on: date) -> Q:
    """The condition for a car in service on ``on`` or later."""
    return Q(in_service_to__isnull=True) | Q(in_service_to__gte=on)


def open_item_of(car: Car, kind: str) -> DueItem | None:
    """The open due item of that kind on a car that was fetched for its member; None if no row is recorded."""
    return DueItem.objects.filter(car=car, kind=kind, closed_on__isnull=True).first()


def open_items() -> list[DueItem]:
    """The open due items of all cars and members, each with its car or member."""
    return list(DueItem.objects.filter(closed_on__isnull=True).select_related("car", "member"))


def completions_of(car: Car) -> list[Completion]:
    """How the car's due items were met, newest first."""
    return list(Completion.objects.filter(due_item__car=car).select_related("due_item", "recorded_by", "photo"))


def completions_of_member(member: Member) -> list[Completion]:
    """How the member's credentials were renewed, newest first."""
    return list(Completion.objects.filter(due_item__member=member).select_related("due_item", "recorded_by", "photo"))


def cost_refs_of(car_ids: Collection[int], kind: str) -> list[str]:
    """The references of the costs that were logged when items of that kind were met."""
    met = Completion.objects.filter(due_item__car__in=car_ids, due_item__kind=kind, voided_at__isnull=True)
    return list(met.exclude(cost_ref="").order_by().values_list("cost_ref", flat=True))
