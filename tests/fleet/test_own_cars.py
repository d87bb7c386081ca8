"""The banner on every page before a lesson: which of the member's cars are off the road, and why."""

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.kit import logging_kit
from fleet.models import Car
from tests.conftest import TODAY
from tests.costing.pages import cost_data, fill_data, save, week_data
from tests.factories import CarFactory, ConfirmationFactory, DefectFactory, DueItemFactory, TreadReadingFactory

pytestmark = pytest.mark.usefixtures("today")

BANNER = "No lesson may be given in QA51 ABC"
#: The home page says it in words of its own, first of all: tests/costing/test_home.py.
PAGES = [
    *("costing:entries", "costing:group", "costing:fill-log", "costing:cost-log"),
    *("costing:teaching-log", "fleet:profile"),
]


def page_of(client: Client, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


@pytest.mark.parametrize("name", PAGES)
def test_a_dangerous_defect_is_on_every_page_of_the_keeper_and_of_nobody_else(
    everyone: dict[str, Client], car: Car, colleague_car: Car, name: str
) -> None:
    DefectFactory.create(car=car, severity="dangerous", description="Brake hose weeps")
    page = page_of(everyone["keeper"], reverse(name))
    assert page.count(BANNER) == 1
    assert "Dangerous, do not drive: Brake hose weeps" in page
    assert reverse("fleet:car", args=["QA51ABC"]) in page
    for other in ("colleague", "stranger", "coordinator"):
        assert "No lesson may be given" not in page_of(everyone[other], reverse(name))


@pytest.mark.parametrize("name", PAGES)
def test_what_is_watched_or_was_put_right_is_on_none(everyone: dict[str, Client], car: Car, name: str) -> None:
    DefectFactory.create(car=car, severity="watch")
    DefectFactory.create(car=car, severity="dangerous", state="closed", closed_on=date(2026, 3, 12))
    assert "No lesson may be given" not in page_of(everyone["keeper"], reverse(name))


def test_the_cars_own_page_says_it_once_in_its_own_words_to_a_coordinator_too(
    everyone: dict[str, Client], car: Car
) -> None:
    DefectFactory.create(car=car, severity="before_next_lesson", description="Indicator out")
    for who in ("keeper", "coordinator"):
        page = page_of(everyone[who], reverse("fleet:car", args=["QA51ABC"]))
        assert "Do not use this car for lessons" in page
        assert BANNER not in page


def test_the_cars_page_says_it_once_of_an_only_car_and_on_the_strip_of_one_of_several(
    everyone: dict[str, Client], car: Car
) -> None:
    DefectFactory.create(car=car, severity="dangerous", description="Brake hose weeps")
    page = page_of(everyone["keeper"], reverse("fleet:car-list"))
    assert page.count("QA51 ABC is off the road") == page.count("Dangerous, do not drive: Brake hose weeps.") == 1
    assert BANNER not in page
    CarFactory.create(keeper=car.keeper)
    assert page_of(everyone["keeper"], reverse("fleet:car-list")).count(BANNER) == 1


def test_every_reason_is_given_the_gravest_first(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory.create(car=car, kind="mot", due_on=date(2026, 3, 10))
    ConfirmationFactory.create(car=car, is_met=False, confirmed_on=date(2026, 3, 9))
    TreadReadingFactory.create(car=car, inner=Decimal("1.5"))
    DefectFactory.create(car=car, severity="dangerous", description="Brake hose weeps")
    [stopped] = everyone["keeper"].get("/").context["stopped_cars"]()
    assert stopped.reasons == [
        "Dangerous, do not drive: Brake hose weeps",
        "Front left tyre: less than 1.6 mm of tread",
        "MOT ran out on 10 March 2026",
        "The insurance does not cover driving tuition",
    ]


def test_a_car_out_of_service_is_in_nobodys_way(everyone: dict[str, Client], car: Car) -> None:
    Car.objects.update(in_service_to=date(2026, 3, 15))
    DefectFactory.create(car=car, severity="dangerous")
    assert "No lesson may be given" not in page_of(everyone["keeper"], reverse("costing:entries"))
    assert "off the road" not in page_of(everyone["keeper"], "/")


def test_whoever_is_not_signed_in_sees_no_banner(everyone: dict[str, Client], car: Car) -> None:
    DefectFactory.create(car=car, severity="dangerous")
    page = everyone["anonymous"].get(reverse("account_login")).content.decode()
    assert "No lesson may be given" not in page


@pytest.mark.parametrize(
    ("name", "data"),
    [("teaching-log", week_data), ("fill-log", fill_data), ("cost-log", cost_data)],
)
def test_a_log_page_left_open_is_told_by_its_answer_or_its_kit(
    everyone: dict[str, Client], car: Car, name: str, data
) -> None:
    path = reverse(f"costing:{name}")
    assert BANNER not in page_of(everyone["keeper"], path)
    assert logging_kit(car.keeper, TODAY)["cars"][0]["stopped"] == ""
    DefectFactory.create(car=car, severity="dangerous")
    assert logging_kit(car.keeper, TODAY)["cars"][0]["stopped"] != ""
    without = save(everyone["keeper"], path, data(car), follow=True).content.decode()
    # Without script the answer leads to the home page, which says it in its own words.
    assert without.count("QA51 ABC</span> is off the road.") == 1


def test_of_many_reasons_the_gravest_are_named_and_how_many_more(everyone: dict[str, Client], car: Car) -> None:
    for number in range(7):
        DefectFactory.create(car=car, severity="before_next_lesson", description=f"Rattle {number}")
    DefectFactory.create(car=car, severity="dangerous", description="Brake hose weeps")
    DueItemFactory.create(car=car, kind="mot", due_on=date(2026, 3, 10))
    for page in map(page_of, [everyone["keeper"]] * 2, ["/", reverse("fleet:car-list")]):
        assert "Dangerous, do not drive: Brake hose weeps" in page
        assert "Rattle 2" in page
        assert "and 4 more" in page.lower()
        assert "Rattle 3" not in page
    # The car's own page keeps none back.
    assert "Rattle 6" in page_of(everyone["keeper"], reverse("fleet:car", args=["QA51ABC"]))
