"""The address /cars/<mark>/check/: it begins a look round a car, or goes on with one that was broken off."""

from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import resolve, reverse

from fleet.core.points import POINTS
from fleet.models import Car, WalkaroundCheck
from instructors.models import Member
from tests.factories import CarFactory, DefectFactory, WalkaroundCheckFactory

pytestmark = pytest.mark.usefixtures("today")

PAGE = reverse("fleet:check-record", args=["QA51ABC"])
TODAY = date(2026, 3, 16)
OUTSIDE = [point.name for point in POINTS.values() if point.group == "outside"]


def led_to(client: Client) -> tuple[UUID, str]:
    """The reference and the group of the page to which the address leads."""
    response = client.get(PAGE)
    assert response.status_code == 302
    found = resolve(response.url).kwargs
    return found["ref"], found["group"]


def broken_off(its: Car, **values: object) -> WalkaroundCheck:
    told = {"points": OUTSIDE, "is_whole": False, "checked_on": TODAY, "ref": str(uuid4())}
    return WalkaroundCheckFactory.create(**{"car": its} | told | values)


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_looks_round_a_car(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_it_leads_to_the_first_group_of_a_check_of_its_own_and_writes_nothing(
    everyone: dict[str, Client], car: Car, who: str
) -> None:
    (first, group), (second, _) = led_to(everyone[who]), led_to(everyone[who])
    assert group == "outside"
    assert first != second
    assert not WalkaroundCheck.objects.exists()


def test_a_check_broken_off_today_goes_on_with_its_next_group(everyone: dict[str, Client], car: Car) -> None:
    check = broken_off(car, created_at=datetime(2026, 3, 16, 8, 12, tzinfo=UTC))
    assert led_to(everyone["keeper"]) == (UUID(check.ref), "fluids")
    page = everyone["keeper"].get(PAGE, follow=True).content.decode()
    assert "You began this check at 08:12: go on here, or begin anew below." in page


def test_what_begins_anew(everyone: dict[str, Client], car: Car, coordinator: Member) -> None:
    check = broken_off(car)
    assert led_to(everyone["coordinator"])[1] == "outside"  # it is the keeper's
    for changes in (
        {"is_whole": True},
        {"checked_on": TODAY - timedelta(days=1)},
        {"car": CarFactory(registration="QC03DEF", keeper=car.keeper)},
        {"ref": "from an archive"},
        {"points": list(POINTS)},
    ):
        WalkaroundCheck.objects.all().delete()
        broken_off(car, **changes)
        assert led_to(everyone["keeper"])[1] == "outside", changes
    WalkaroundCheck.objects.all().delete()
    check = broken_off(car)
    DefectFactory(car=car, walkaround=check, severity="watch")
    assert led_to(everyone["keeper"])[1] == "fluids"
    # What was looked at before such a fault was put right counts no more.
    DefectFactory(car=car, walkaround=check, severity="before_next_lesson")
    assert led_to(everyone["keeper"])[1] == "outside"


def test_home_leads_to_each_own_car_in_service(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    CarFactory(registration="QC03DEF", keeper=car.keeper, in_service_to=date(2026, 3, 15))
    page = everyone["keeper"].get(reverse("costing:home")).content.decode()
    assert f'<a href="{PAGE}"><span class="knob">' in page
    for other in ("QC03DEF", colleague_car.registration):
        assert reverse("fleet:check-record", args=[other]) not in page


def test_with_several_cars_home_leads_to_the_cars_and_each_of_them_to_its_check(
    everyone: dict[str, Client], car: Car
) -> None:
    CarFactory(registration="QC03DEF", keeper=car.keeper)
    page = everyone["keeper"].get(reverse("costing:home")).content.decode()
    assert f'<a href="{reverse("fleet:car-list")}"><span class="knob">' in page
    for mark in ("QA51ABC", "QC03DEF"):
        address = reverse("fleet:check-record", args=[mark])
        assert address not in page
        assert address in everyone["keeper"].get(reverse("fleet:car", args=[mark])).content.decode()
