"""Every form with an odometer asks about what the car can hardly have shown, as the keeper and as a coordinator."""

from collections.abc import Callable
from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, OdometerReading, TreadReading
from instructors.models import Member
from tests.asked import said_at
from tests.factories import DueItemFactory, OdometerReadingFactory, TreadReadingFactory

TODAY = date(2026, 3, 16)
Typed = dict[str, str]
Page = Callable[[Car, Member], tuple[str, str, Typed]]


@pytest.fixture(autouse=True)
def history(today: date, car: Car) -> None:
    """Forty miles a day up to yesterday, when it shows 41,160."""
    for number in range(30):
        OdometerReadingFactory(car=car, read_on=TODAY - timedelta(days=1 + number), miles=41_160 - 40 * number)


def item_page(name: str, kind: str, day: str, **more: str) -> Page:
    def page(car: Car, colleague: Member) -> tuple[str, str, Typed]:
        item = DueItemFactory(car=car, kind=kind, due_on=date(2026, 4, 2))
        return reverse(f"fleet:{name}", args=[item.pk]), "odometer", {"ref": str(uuid4()), day: f"{TODAY}", **more}

    return page


def reading(car: Car, colleague: Member) -> tuple[str, str, Typed]:
    return reverse("fleet:odometer-add", args=[car.registration]), "miles", {"read_on": f"{TODAY}"}


def tread(car: Car, colleague: Member) -> tuple[str, str, Typed]:
    page = reverse("fleet:tread-add", args=[car.registration])
    return page, "odometer", {"read_on": f"{TODAY}", "front_left_inner": "5.4"}


def service(car: Car, colleague: Member) -> tuple[str, str, Typed]:
    page = reverse("fleet:car-service", args=[car.registration])
    return page, "odometer", {"in_service_from": f"{car.in_service_from}", "in_service_to": f"{TODAY}"}


PAGES = {
    "reading": reading,
    "tread": tread,
    "service": service,
    "pass": item_page("due-item-complete", "mot", "done_on", next_due_on="2027-04-02"),
    "fail": item_page("mot-fail", "mot", "tested_on", major="Brake pipe corroded"),
    "done": item_page("due-item-complete", "service", "done_on"),
}


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
@pytest.mark.parametrize("name", PAGES)
def test_a_nought_too_many_is_one_tap_from_right(
    everyone: dict[str, Client], car: Car, colleague: Member, name: str, who: str
) -> None:
    page, field, typed = PAGES[name](car, colleague)
    asked = everyone[who].post(page, typed | {field: "412000"})
    form = asked.context["form"]
    assert "miles since" in said_at(form, field)[0]
    assert not OdometerReading.objects.filter(read_on=TODAY).exists()
    likely = next(one for one in form.questions[field].meanings if one.words == "41,200")
    assert f'value="{likely.value}"'.replace("&", "&amp;") in asked.content.decode()
    assert everyone[who].post(page, typed | {field: "412000", "meant": likely.value}).status_code == 303
    assert OdometerReading.objects.get(read_on=TODAY).miles == 41_200


@pytest.mark.parametrize("name", PAGES)
def test_that_it_is_right_is_one_tap_too(everyone: dict[str, Client], car: Car, colleague: Member, name: str) -> None:
    page, field, typed = PAGES[name](car, colleague)
    form = everyone["keeper"].post(page, typed | {field: "43000"}).context["form"]
    key = form.questions[field].key
    assert everyone["keeper"].post(page, typed | {field: "43000", "is_right": key}).status_code == 303
    assert OdometerReading.objects.get(read_on=TODAY).miles == 43_000


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_the_usual_miles_are_not_asked_about(everyone: dict[str, Client], car: Car, who: str) -> None:
    page, field, typed = reading(car, car.keeper)
    assert everyone[who].post(page, typed | {field: "41,230"}).status_code == 303


def test_less_than_before_shows_what_is_meant_and_is_never_right(everyone: dict[str, Client], car: Car) -> None:
    page, field, typed = reading(car, car.keeper)
    form = everyone["keeper"].post(page, typed | {field: "4120"}).context["form"]
    question = form.questions[field]
    assert not question.may_be_right
    assert "41,200" in {one.words for one in question.meanings}
    again = everyone["keeper"].post(page, typed | {field: "4120", "is_right": question.key})
    assert again.context["form"].questions[field] == question


def test_a_handover_and_a_leavers_car_ask_as_well(everyone: dict[str, Client], car: Car, colleague: Member) -> None:
    keeper = car.keeper
    taken = {"keeper": str(colleague.pk), "on": f"{TODAY}", "odometer": "412000"}
    form = everyone["coordinator"].post(reverse("fleet:car-hand-over", args=[car.registration]), taken).context["form"]
    assert "41,200" in {one.words for one in form.questions["odometer"].meanings}
    page, field = reverse("fleet:member-leave", args=[keeper.pk]), f"odometer_{car.pk}"
    left = {"left_on": f"{TODAY}", f"becomes_{car.pk}": "nobody", field: "412000"}
    (likely,) = [
        one
        for one in everyone["coordinator"].post(page, left).context["form"].questions[field].meanings
        if one.words == "41,200"
    ]
    assert everyone["coordinator"].post(page, left | {"meant": likely.value}).status_code == 303


def test_tread_that_grew_is_that_of_new_tyres(everyone: dict[str, Client], car: Car) -> None:
    TreadReadingFactory(car=car, wheel="front_left", read_on=TODAY - timedelta(days=6), inner=3, centre=3, outer=3)
    page, typed = reverse("fleet:tread-add", args=[car.registration]), {"read_on": f"{TODAY}"}
    asked = everyone["keeper"].post(page, typed | {"front_left_inner": "7.8"})
    assert "tread does not grow" in said_at(asked.context["form"], "front_left_inner")[0]
    assert f'href="{reverse("fleet:tyres-replaced", args=[car.registration])}">New tyres were fitted</a>' in (
        asked.content.decode()
    )
    form = everyone["keeper"].post(page, typed | {"front_left_inner": "28"}).context["form"]
    likely = form.questions["front_left_inner"].meanings[0]
    assert likely.words == "2.8 mm"
    assert everyone["keeper"].post(page, typed | {"front_left_inner": "28", "meant": likely.value}).status_code == 303
    assert str(TreadReading.objects.get(read_on=TODAY).inner) == "2.8"
