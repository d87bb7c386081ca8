"""The page /cars/<mark>/ready/: whether a car has what lessons and a test day ask for."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.core.requirements import ASKED
from fleet.models import Car, Confirmation, DueItem, Wheel
from tests.factories import (
    ConfirmationFactory,
    DefectFactory,
    DueItemFactory,
    TreadReadingFactory,
    TyreMoveFactory,
    WalkaroundCheckFactory,
)

pytestmark = pytest.mark.usefixtures("today")

PAGE = reverse("fleet:ready", args=["QA51ABC"])
TODAY = date(2026, 3, 16)
TYPED = {"confirmed_on": "2026-03-16", "second_mirror": "yes", "smoke_free": "no", "cameras": ""}


def make_ready(car: Car) -> None:
    """Record every point of both lists as met."""
    for kind in ("mot", "vehicle_tax", "insurance", "dual_controls"):
        DueItemFactory(car=car, kind=kind)
    DueItemFactory(car=None, member=car.keeper, kind="adi_registration", due_on=date(2028, 1, 31))
    for wheel in Wheel.values:
        TreadReadingFactory(car=car, wheel=wheel)
    WalkaroundCheckFactory(car=car)
    for point in ASKED:
        ConfirmationFactory(car=car, point=point, confirmed_on=date(2026, 3, 14))


def lists_of(client: Client) -> dict[str, object]:
    return {words.name: words for words in client.get(PAGE).context["lists"]}


def open_points(client: Client, name: str) -> dict[str, tuple[str, str]]:
    return {point.words: (point.state_words, point.reason) for point in lists_of(client)[name].open}


# --- Who ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_sees_or_answers(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status
    assert everyone[who].post(PAGE, TYPED).status_code == status
    assert not Confirmation.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_keeper_and_coordinator_answer_and_twice_is_once(everyone: dict[str, Client], car: Car, who: str) -> None:
    for told in ("2 answers are in the book.", "This is already in the book: nothing was added."):
        response = everyone[who].post(PAGE, TYPED, follow=True)
        assert response.redirect_chain == [(PAGE, 303)]
        assert told in response.content.decode()
    answers = Confirmation.objects.order_by("point").values_list("car", "point", "confirmed_on", "is_met")
    assert list(answers) == [(car.pk, "second_mirror", TODAY, True), (car.pk, "smoke_free", TODAY, False)]


def test_the_car_page_leads_here(everyone: dict[str, Client], car: Car) -> None:
    assert f'href="{PAGE}"' in everyone["keeper"].get(reverse("fleet:car", args=["QA51ABC"])).content.decode()


# --- What it says -----------------------------------------------------------------------------------------


def test_a_car_of_which_nothing_is_recorded_is_plainly_not_ready(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].get(PAGE)
    verdicts = [words.verdict for words in response.context["lists"]]
    assert verdicts == [
        "Not ready: 11 points not confirmed",
        "Not ready: 22 points not confirmed",
    ]
    for verdict in verdicts:
        assert f"{verdict}." in response.content.decode()


def test_a_car_with_all_recorded_has_nothing_against_it_and_is_never_called_safe(
    everyone: dict[str, Client], car: Car
) -> None:
    make_ready(car)
    response = everyone["keeper"].get(PAGE)
    assert [words.verdict for words in response.context["lists"]] == ["Nothing recorded against it"] * 2
    page = response.content.decode()
    assert "a qualified technician come first" in page
    assert " safe." not in page
    assert " is safe" not in page


def test_each_point_says_on_what_it_rests_and_since_when(everyone: dict[str, Client], car: Car) -> None:
    make_ready(car)
    DueItem.objects.filter(kind="insurance").update(due_on=date(2026, 3, 15))
    DefectFactory(car=car, severity="before_next_lesson", description="Brake lamp out.", found_on=date(2026, 3, 13))
    ConfirmationFactory(car=car, point="second_mirror", confirmed_on=TODAY, is_met=False)
    Confirmation.objects.filter(point="tuition_insurance").delete()
    assert open_points(everyone["keeper"], "teach") == {
        "Insurance in date": ("Not met", "Ran out on 15 March 2026."),
        "No open defect that keeps it off the road": ("Not met", "Since 13 March 2026: Brake lamp out."),
        "A second interior mirror for you": ("Not met", "Answered no on 16 March 2026."),
        "The insurance covers driving tuition": ("Not known", "Not answered yet."),
    }
    assert lists_of(everyone["keeper"])["teach"].verdict == ("Not ready: 3 points not met, 1 point not confirmed")


def test_what_was_looked_at_counts_for_seven_days_on_a_test_day_only(everyone: dict[str, Client], car: Car) -> None:
    make_ready(car)
    Confirmation.objects.filter(point="l_plates").update(confirmed_on=TODAY - timedelta(days=8))
    assert open_points(everyone["keeper"], "teach") == {}
    assert open_points(everyone["keeper"], "test-day") == {
        "L plates (in Wales L or D) at the front and the rear": (
            "Not known",
            "Confirmed on 8 March 2026, too long ago to count.",
        )
    }
    met = {point.words: point.reason for point in lists_of(everyone["keeper"])["test-day"].met}
    assert met["No warning lamp on"] == "Confirmed on 14 March 2026. This counts for 7 days."
    assert met["Four wheels"] == "Confirmed on 14 March 2026."


def test_new_tyres_have_no_reading_until_they_are_read(everyone: dict[str, Client], car: Car) -> None:
    make_ready(car)
    TyreMoveFactory(car=car, wheel=Wheel.FRONT_LEFT, came_from="", moved_on=date(2026, 3, 10))
    assert open_points(everyone["keeper"], "teach") == {
        "No tyre below 1.6 mm of tread": ("Not known", "No reading is recorded of the front left tyre.")
    }


def test_tread_too_low_or_read_too_long_ago_names_its_wheel(everyone: dict[str, Client], car: Car) -> None:
    make_ready(car)
    car.tread_readings.filter(wheel=Wheel.REAR_RIGHT).update(read_on=date(2025, 12, 1))
    [(_, reason)] = open_points(everyone["keeper"], "teach").values()
    assert reason == "The rear right tyre was last read on 1 December 2025, more than 90 days ago."
    car.tread_readings.filter(wheel=Wheel.REAR_RIGHT).update(inner="1.5")
    [(state, reason)] = open_points(everyone["keeper"], "teach").values()
    assert (state, reason) == ("Not met", "The rear right tyre was below it on 1 December 2025.")


def test_the_credential_is_the_keepers_whoever_looks(everyone: dict[str, Client], car: Car) -> None:
    make_ready(car)
    assert open_points(everyone["coordinator"], "teach") == {}
    DueItem.objects.filter(kind="adi_registration").delete()
    [(_, reason)] = open_points(everyone["coordinator"], "teach").values()
    assert reason == "Neither is recorded. The keeper enters it on their own page."


def test_a_car_no_longer_in_service_is_not_ready(everyone: dict[str, Client], car: Car) -> None:
    make_ready(car)
    car.in_service_to = date(2026, 3, 15)
    car.save()
    assert all(words.verdict.startswith("Not ready") for words in lists_of(everyone["keeper"]).values())


def test_the_page_asks_the_same_queries_however_much_is_recorded(
    everyone: dict[str, Client], car: Car, django_assert_num_queries
) -> None:
    make_ready(car)
    with CaptureQueriesContext(connection) as asked:
        everyone["keeper"].get(PAGE)
    for days in range(20, 50):
        day = TODAY - timedelta(days=days)
        ConfirmationFactory(car=car, point="smoke_free", confirmed_on=day)
        TreadReadingFactory(car=car, read_on=day)
        DefectFactory(car=car, found_on=day)
    with django_assert_num_queries(len(asked)):
        everyone["keeper"].get(PAGE)


# --- The form ---------------------------------------------------------------------------------------------


def test_each_question_says_what_was_answered_last_and_nothing_is_chosen_before(
    everyone: dict[str, Client], car: Car
) -> None:
    ConfirmationFactory(car=car, point="smoke_free", confirmed_on=date(2026, 3, 2), is_met=False)
    form = everyone["keeper"].get(PAGE).context["form"]
    assert form["smoke_free"].help_text == "So far: no, on 2 March 2026."
    assert form["cameras"].help_text == "Not answered yet."
    assert {form[name].value() for name in ASKED} == {""}
    assert form["confirmed_on"].value() == TODAY
    assert sorted(field.name for group in form.groups for field in group.fields) == sorted(ASKED)


@pytest.mark.parametrize(
    ("change", "field", "why"),
    [
        ({"confirmed_on": "2026-03-17"}, "confirmed_on", "17 March 2026 has not come yet: today is 16 March 2026."),
        ({"confirmed_on": "16th"}, "confirmed_on", "Write the day like 5 March 2027 or 05/03/2027."),
        ({"second_mirror": "", "smoke_free": ""}, "__all__", "Answer at least one point with yes or no."),
        (
            {"cameras": "perhaps"},
            "cameras",
            "Select a valid choice. perhaps is not one of the available choices.",
        ),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_the_answers_are_kept(
    everyone: dict[str, Client], car: Car, change: dict[str, str], field: str, why: str
) -> None:
    form = everyone["keeper"].post(PAGE, TYPED | change).context["form"]
    assert form.errors == {field: [why]}
    assert form["smoke_free"].value() == (TYPED | change)["smoke_free"]
    assert not Confirmation.objects.exists()
