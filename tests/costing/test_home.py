"""The first page: what a lesson costs, and what needs doing."""

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown, teach_february
from tests.factories import CarFactory, DueItemFactory, FillFactory, GroupFigureFactory

HOME = reverse("costing:home")

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def _february_is_closed(db: None) -> None:
    GroupFigureFactory()
    GroupFigureFactory(span="year", contributor_count=4, median_cost_per_lesson_hour=None, median_cost_per_mile=None)


@pytest.mark.usefixtures("_february_is_closed")
def test_own_costs_stand_beside_the_groups_median(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    page = shown(everyone["keeper"], HOME)
    assert "February 2026 £1.67 a lesson hour" in page
    assert "A lesson hour £1.67 £6.80" in page
    assert "A lesson like yours £2.50 £10.20" in page
    assert "A mile £0.10 £0.42" in page
    assert "6 members contribute" in page


@pytest.mark.usefixtures("_february_is_closed")
def test_too_few_contributors_are_said_and_no_median_is_shown(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    page = shown(everyone["keeper"], HOME)
    year = page[page.index("12 months to February 2026") :]
    assert "The group's figures are not shown: 4 members contribute to this period, and it takes 5" in year
    assert "Group's median" not in year


@pytest.mark.usefixtures("_february_is_closed")
def test_the_picture_says_in_words_what_it_shows(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    page = everyone["keeper"].get(HOME).content.decode()
    assert "Yours is £1.67, £5.13 below the group&#x27;s median of £6.80." in page


@pytest.mark.usefixtures("_february_is_closed")
def test_a_figure_that_is_missing_is_neither_nothing_nor_a_guess(everyone: dict[str, Client], car: Car) -> None:
    FillFactory(car=car, filled_on="2026-02-10", odometer=48_000)
    page = shown(everyone["keeper"], HOME)
    assert "Not known yet" in page
    assert "No lessons logged" in page
    assert "£0.00" not in page


def test_a_member_without_a_car_is_told_what_comes_first(everyone: dict[str, Client]) -> None:
    page = shown(everyone["stranger"], HOME)
    assert "You have no car in the book yet" in page
    assert "Log a fill" not in page


@pytest.mark.parametrize("who", ["coordinator", "stranger"])
def test_whoever_has_no_car_is_led_to_enter_one(everyone: dict[str, Client], who: str) -> None:
    assert reverse("fleet:car-add") in everyone[who].get(HOME).content.decode()


def test_a_member_with_a_new_car_is_told_what_makes_the_first_figure(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(HOME).content.decode()
    assert "Your first figure needs three things" in page
    assert reverse("costing:agreement-add", args=[car.registration]) in page


def test_a_car_off_the_road_is_said_first(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", due_on="2026-03-12")
    page = shown(everyone["keeper"], HOME)
    assert page.index("No lesson may be given in QA51 ABC") < page.index("What your lessons cost")
    assert "Insurance ran out on 12 March 2026" in page


def test_what_is_due_next_is_shown_worst_first(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="mot", due_on="2026-03-23")
    DueItemFactory(car=None, member=car.keeper, kind="adi_registration", due_on="2026-03-01")
    page = shown(everyone["keeper"], HOME)
    due = page[page.index("Due next") :]
    assert "Your own, 1 March 2026, 15 days overdue" in due
    assert due.index("ADI registration") < due.index("MOT")
    assert "23 March 2026, in 7 days" in due


def test_nobody_sees_the_costs_of_another(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    teach_february(car)
    for who in ("colleague", "coordinator", "stranger"):
        page = shown(everyone[who], HOME)
        assert "1.67" not in page
        assert "QA51 ABC" not in page


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(HOME).url.startswith(reverse("account_login"))


@pytest.mark.usefixtures("_february_is_closed")
def test_the_number_of_queries_does_not_grow_with_the_cars(
    everyone: dict[str, Client], keeper: Member, car: Car, django_assert_max_num_queries: object
) -> None:
    teach_february(car)
    with django_assert_max_num_queries(60) as one:  # type: ignore[operator]
        everyone["keeper"].get(HOME)
    for _ in range(3):
        teach_february(CarFactory(keeper=keeper))
    with django_assert_max_num_queries(len(one)):  # type: ignore[operator]
        everyone["keeper"].get(HOME)
