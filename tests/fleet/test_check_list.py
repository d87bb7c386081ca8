"""The page /cars/<mark>/checks/: the looks round a car, and how long ago the last one was."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from fleet.core.points import Build, points_for
from fleet.models import Car
from instructors.models import Member
from tests.factories import DefectFactory, WalkaroundCheckFactory

pytestmark = pytest.mark.usefixtures("today")

PAGE = reverse("fleet:check-list", args=["QA51ABC"])
#: What a check asks of a petrol car with a manual gearbox.
ASKED = {point.name: point for point in points_for(Build("petrol", "manual", dual_controls=True, soft_top=False))}


def shown(client: Client, address: str = PAGE) -> str:
    return " ".join(client.get(address).content.decode().split())


@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("coordinator", 200), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_only_keeper_and_coordinator_see_the_checks(
    everyone: dict[str, Client], car: Car, who: str, status: int
) -> None:
    assert everyone[who].get(PAGE).status_code == status


def test_without_any_it_says_so_and_leads_to_the_first(everyone: dict[str, Client], car: Car) -> None:
    page = shown(everyone["keeper"])
    assert "No check of this car is in the book yet." in page
    assert 'href="/cars/QA51ABC/check/"' in page


def test_a_whole_check_says_who_when_and_that_nothing_was_recorded(
    everyone: dict[str, Client], car: Car, coordinator: Member
) -> None:
    WalkaroundCheckFactory(car=car, member=coordinator, points=[*ASKED, "own-1"], note="In the rain")
    page = shown(everyone["keeper"])
    assert "11 March 2026" in page
    assert f"By Zdzisława Łąkowska. {len(ASKED)} of {len(ASKED)} points and 1 of the co-op's own." in page
    assert "In the rain" in page
    assert '<span class="small">No defect</span>' in page
    assert "Not looked at" not in page
    assert "Last checked 5 days ago. Next check due on 18 March 2026." in page


def test_a_check_in_part_says_which_groups_and_what_was_left_out(everyone: dict[str, Client], car: Car) -> None:
    tuition = [name for name, point in ASKED.items() if point.group == "tuition"]
    WalkaroundCheckFactory(car=car, points=[*tuition, "horn"])
    page = shown(everyone["keeper"])
    assert f"{len(tuition) + 1} of {len(ASKED)} points; all of: For tuition." in page
    assert f"Not looked at ({len(ASKED) - len(tuition) - 1})" in page
    assert "Engine oil; Coolant" in page


def test_what_a_check_found_stands_with_it(everyone: dict[str, Client], car: Car) -> None:
    check = WalkaroundCheckFactory(car=car, points=list(ASKED))
    defect = DefectFactory(car=car, walkaround=check, description="Horn: silent", severity="before_next_lesson")
    DefectFactory(car=car, description="Noticed otherwise")
    page = shown(everyone["keeper"])
    assert "Horn: silent" in page
    assert f'href="{reverse("fleet:defect", args=[defect.pk])}"' in page
    assert "Put right before the next lesson" in page
    assert "Noticed otherwise" not in page
    assert "No defect<" not in page


def test_the_newest_stand_first_and_the_older_on_another_page(everyone: dict[str, Client], car: Car) -> None:
    for days in range(26):
        WalkaroundCheckFactory(car=car, checked_on=date(2026, 3, 16) - timedelta(days=days))
    page = shown(everyone["keeper"])
    assert page.index("16 March 2026") < page.index("15 March 2026") < page.index("20 February 2026")
    assert "19 February 2026" not in page
    assert "19 February 2026" in shown(everyone["keeper"], f"{PAGE}?page=2")


def test_another_cars_checks_are_not_among_them(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    WalkaroundCheckFactory(car=colleague_car)
    assert "No check of this car is in the book yet." in shown(everyone["coordinator"])


def test_as_many_queries_however_many_checks(
    everyone: dict[str, Client], car: Car, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for days in range(10):
        DefectFactory(car=car, walkaround=WalkaroundCheckFactory(car=car, checked_on=date(2026, 3, 1 + days)))
    with django_assert_max_num_queries(18):
        everyone["keeper"].get(PAGE)
