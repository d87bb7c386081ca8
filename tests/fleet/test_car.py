"""The page /cars/<mark>/: one car, whether it may be used for lessons, and what falls due."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from instructors.models import Member
from tests.factories import (
    CarFactory,
    CompletionFactory,
    CostEntryFactory,
    DefectFactory,
    DueItemFactory,
    FillFactory,
    OdometerReadingFactory,
)

pytestmark = pytest.mark.usefixtures("today")


def page_of(client: Client, car: Car) -> str:
    response = client.get(reverse("fleet:car", args=[car.registration]))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("coordinator", 200), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_only_keeper_and_coordinator_see_a_car(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(f"/cars/{car.registration}/").status_code == status


def test_a_car_that_is_not_there_answers_like_one_that_is_not_yours(everyone: dict[str, Client]) -> None:
    assert everyone["keeper"].get("/cars/QZ99ZZZ/").status_code == 404


@pytest.mark.parametrize("typed", ["qa51abc", "QA51 ABC", "qa51-abc"])
def test_a_mark_is_understood_however_it_is_typed(everyone: dict[str, Client], car: Car, typed: str) -> None:
    assert everyone["keeper"].get(f"/cars/{typed}/").status_code == 200


def test_a_car_off_the_road_says_so_and_why(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="mot", due_on=date(2026, 3, 13))
    page = page_of(everyone["keeper"], car)
    assert "Do not use this car for lessons" in page
    assert "<b>MOT ran out</b> <span>on 13 March 2026</span>" in page
    assert "13 March 2026, 3 days overdue" in page


@pytest.mark.parametrize(("severity", "must_stand"), [("dangerous", True), ("before_next_lesson", False)])
def test_a_dangerous_car_may_not_even_be_driven_to_a_test(
    everyone: dict[str, Client], car: Car, severity: str, must_stand: bool
) -> None:
    DefectFactory(car=car, severity=severity)
    page = page_of(everyone["keeper"], car)
    assert ("Do not drive it at all, not even to a garage." in page) == must_stand
    assert ("For any drive it must be roadworthy." in page) != must_stand


def test_a_car_with_nothing_against_it_is_never_called_safe(everyone: dict[str, Client], car: Car) -> None:
    for kind in ("mot", "insurance", "vehicle_tax"):
        DueItemFactory(car=car, kind=kind)
    DueItemFactory(car=None, member=car.keeper, kind="adi_registration", due_on=date(2027, 3, 1))
    page = page_of(everyone["keeper"], car)
    assert "Nothing recorded here puts this car off the road today" in page
    assert "Not known" not in page
    assert "safe" not in page.lower()


def test_a_service_without_a_forecast_leaves_no_doubt_about_the_road(everyone: dict[str, Client], car: Car) -> None:
    for kind in ("mot", "insurance", "vehicle_tax"):
        DueItemFactory(car=car, kind=kind)
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=60_000)
    page = page_of(everyone["keeper"], car)
    assert "no forecast, as there is no odometer reading" in page
    assert "Nothing recorded here puts this car off the road today" in page


def test_what_is_not_known_is_said_with_what_to_enter(everyone: dict[str, Client], car: Car) -> None:
    page = page_of(everyone["keeper"], car)
    assert "Not known: MOT, insurance, vehicle tax." in page
    assert "Nothing recorded here puts this car off the road" not in page
    assert "Enter the last day on the MOT certificate." in page
    for kind in ("mot", "vehicle_tax", "insurance"):
        assert f"/cars/QA51ABC/due/new/?kind={kind}" in page


def test_a_car_without_its_day_of_registration_says_what_is_missing(
    everyone: dict[str, Client], keeper: Member
) -> None:
    page = page_of(everyone["keeper"], CarFactory(keeper=keeper, first_registered=None))
    assert "Not known: no MOT is recorded, nor when the car was first registered" in page


def test_the_first_mot_by_rule_is_shown_before_it_is_entered(everyone: dict[str, Client], keeper: Member) -> None:
    page = page_of(everyone["keeper"], CarFactory(keeper=keeper, first_registered=date(2024, 6, 1)))
    assert "1 June 2027, in 442 days" in page
    assert "worked out from first registration" in page


def test_a_forecast_says_what_it_rests_on(everyone: dict[str, Client], car: Car) -> None:
    # 1,800 miles in the 90 days before the last reading, of which 75 days lie in the 90 before today.
    OdometerReadingFactory(car=car, read_on=date(2025, 12, 16), miles=40_000)
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 16), miles=41_800)
    DueItemFactory(car=car, kind="service", due_on=date(2026, 9, 1), due_miles=42_400)
    page = page_of(everyone["keeper"], car)
    assert "42,400 miles, about 15 April 2026, in 30 days" in page
    assert "Service about 15 Apr, 30 days ahead" in page
    assert "Or on 1 September 2026, whichever comes first." in page
    assert "1,800 miles in 90 days before the odometer was last read on 16 March 2026, today." in page


def test_a_forecast_that_has_passed_asks_for_a_reading(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory(car=car, read_on=date(2025, 11, 11), miles=46_200)
    OdometerReadingFactory(car=car, read_on=date(2026, 2, 9), miles=48_000)
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=48_000)
    page = page_of(everyone["keeper"], car)
    assert "Due: 48,000 miles: by forecast, about 35 days ago: read the odometer" in page
    assert "Forecast from 1,800 miles in 90 days before the odometer was last read on 9 February 2026" in page


@pytest.mark.parametrize(
    ("days_left", "words"),
    [(-3, "No paid lessons: ADI registration ran out 3 days ago."), (None, "Not known: registration or licence")],
)
def test_beside_the_car_stands_the_verdict_on_its_teacher(
    everyone: dict[str, Client], car: Car, days_left: int | None, words: str
) -> None:
    if days_left is not None:
        due_on = date(2026, 3, 16) + timedelta(days=days_left)
        DueItemFactory(car=None, member=car.keeper, kind="adi_registration", due_on=due_on)
    assert words in page_of(everyone["coordinator"], car)
    DefectFactory(car=car, severity="dangerous")
    assert words in page_of(everyone["keeper"], car)


def test_a_mileage_without_a_reading_has_no_forecast_but_a_reason(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=42_400)
    page = page_of(everyone["keeper"], car)
    assert "42,400 miles: no forecast, as there is no odometer reading" in page
    assert "No reading is in the book, so nothing can be worked out by mileage." in page


def test_the_worst_comes_first(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="mot", due_on=date(2026, 10, 3))
    DueItemFactory(car=car, kind="insurance", due_on=date(2026, 3, 1))
    DueItemFactory(car=car, kind="vehicle_tax", due_on=date(2026, 3, 20))
    response = everyone["keeper"].get(reverse("fleet:car", args=[car.registration]))
    assert [item.kind.name for item in response.context["items"]] == ["insurance", "vehicle_tax", "mot"]


def test_the_last_reading_counts_a_fill_too(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory(car=car, read_on=date(2026, 2, 1), miles=47_000)
    FillFactory(car=car, filled_on=date(2026, 3, 2), odometer=48_200)
    assert "48,200 miles on 2 March 2026." in page_of(everyone["keeper"], car)


def test_what_was_done_is_kept_and_shown(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    item = DueItemFactory(car=car, kind="mot")
    CompletionFactory(due_item=item, note="Advisory: front left tyre.", recorded_by=keeper)
    page = page_of(everyone["coordinator"], car)
    assert "22 September 2025" in page
    assert "Was due 3 October 2025. Recorded by Wren Applegarth." in page
    assert "Advisory: front left tyre." in page


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_no_money_is_on_the_page(everyone: dict[str, Client], car: Car, who: str) -> None:
    CostEntryFactory(car=car)
    page = page_of(everyone[who], car)
    assert "£" not in page
    assert "86.40" not in page


def test_only_the_keeper_is_led_to_the_costs(everyone: dict[str, Client], car: Car) -> None:
    cost_page = reverse("costing:car-cost", args=[car.registration])
    assert cost_page in page_of(everyone["keeper"], car)
    assert cost_page not in page_of(everyone["coordinator"], car)


def test_a_car_out_of_service_has_nothing_due(everyone: dict[str, Client], keeper: Member) -> None:
    gone = CarFactory(keeper=keeper, in_service_to=date(2026, 3, 15))
    DueItemFactory(car=gone, kind="mot", due_on=date(2026, 3, 1))
    page = page_of(everyone["keeper"], gone)
    assert "This car was in service until 15 March 2026." in page
    assert "Do not use" not in page


def test_words_of_a_member_are_not_taken_as_html(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="other", due_on=date(2026, 4, 1), note="<b>wash</b> & wax")
    page = page_of(everyone["coordinator"], car)
    assert "&lt;b&gt;wash&lt;/b&gt; &amp; wax" in page
    assert "<b>wash</b>" not in page


def test_the_number_of_queries_is_small(
    everyone: dict[str, Client], car: Car, django_assert_max_num_queries: Any
) -> None:
    for kind in ("mot", "service", "tyres", "insurance"):
        item = DueItemFactory(car=car, kind=kind, due_miles=90_000)
        for year in range(2019, 2025):
            CompletionFactory(due_item=item, done_on=date(year, 9, 22))
    OdometerReadingFactory(car=car)
    with django_assert_max_num_queries(26):
        page_of(everyone["keeper"], car)


def test_every_item_names_its_source(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(reverse("fleet:car", args=["QA51ABC"])).content.decode()
    for source in ("GOV.UK, Getting an MOT (official)", "check with DVLA", "check with your insurer"):
        assert source in page
