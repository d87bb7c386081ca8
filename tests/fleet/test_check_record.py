"""The page /cars/<mark>/check/: a look round the car, all fine by one press or what is wrong with which point."""

import io
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image
from pytest_django import DjangoAssertNumQueries

from fleet.core.points import GROUPS, POINTS
from fleet.models import Car, Defect, WalkaroundCheck
from tests.factories import CarFactory, CheckPointFactory, WalkaroundCheckFactory

pytestmark = pytest.mark.usefixtures("today")

PAGE = reverse("fleet:check-record", args=["QA51ABC"])
SENT = {"ref": "7b1f3f0e-38b5-4b64-9d0b-0f3a5b0a4f11", "checked_on": "2026-03-16"}
ALL = SENT | {"extent": "all"}
TICKED = SENT | {"extent": "ticked"}
NAIL = {"tyre_walls-severity": "dangerous", "tyre_walls-description": "nail in the rear left"}


def shown(client: Client, **sent: Any) -> str:
    return " ".join(client.post(PAGE, sent, follow=True).content.decode().split())


def points_of(group: str) -> list[str]:
    return [name for name, point in POINTS.items() if point.group == group]


def photo() -> SimpleUploadedFile:
    picture = io.BytesIO()
    Image.new("RGB", (8, 8), "red").save(picture, "PNG")
    return SimpleUploadedFile("nail.png", picture.getvalue(), "image/png")


@pytest.fixture(autouse=True)
def _files_of_this_test(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path


# --- Who ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_nobody_else_looks_round_a_car(
    everyone: dict[str, Client], car: Car, who: str, status: int, headers: dict[str, str]
) -> None:
    # To htmx, the way to sign-in is told in a header.
    status = 200 if headers and who == "anonymous" else status
    assert everyone[who].get(PAGE, headers=headers).status_code == status
    assert everyone[who].post(PAGE, ALL, headers=headers).status_code == status
    assert not WalkaroundCheck.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_all_fine_is_recorded_by_one_press_and_twice_is_once(everyone: dict[str, Client], car: Car, who: str) -> None:
    for _ in range(2):
        assert everyone[who].post(PAGE, ALL).url == "/cars/QA51ABC/"
    check = WalkaroundCheck.objects.get()
    assert (check.car, check.member.email, check.checked_on) == (car, f"{who}@book.example", date(2026, 3, 16))
    assert check.points == list(POINTS)
    assert not Defect.objects.exists()


def test_the_history_says_who_recorded_it(everyone: dict[str, Client], car: Car) -> None:
    everyone["coordinator"].post(PAGE, ALL)
    assert WalkaroundCheck.objects.get().history.get().history_user.email == "coordinator@book.example"


def test_two_members_with_the_same_reference_do_not_meet(everyone: dict[str, Client], car: Car) -> None:
    for who in ("keeper", "coordinator"):
        everyone[who].post(PAGE, ALL)
    assert WalkaroundCheck.objects.count() == 2


# --- What the answer says -------------------------------------------------------------------------------------


def test_nothing_found_is_told_as_nothing_recorded(everyone: dict[str, Client], car: Car) -> None:
    page = shown(everyone["keeper"], **ALL)
    assert f"QA51 ABC checked on 16 March 2026: {len(POINTS)} points looked at." in page
    assert "No defect was recorded by this check." in page
    assert "Last checked today. Next check due on 23 March 2026." in page
    assert "safe" not in page.lower()


def test_sent_again_it_says_that_nothing_was_added(everyone: dict[str, Client], car: Car) -> None:
    shown(everyone["keeper"], **ALL)
    assert "already in the book: nothing was added" in shown(everyone["keeper"], **ALL)


@pytest.mark.parametrize(("severity", "stops"), [("dangerous", True), ("before_next_lesson", True), ("watch", False)])
def test_a_fault_that_stops_the_car_says_that_no_lesson_may_be_given(
    everyone: dict[str, Client], car: Car, severity: str, stops: bool
) -> None:
    page = shown(everyone["keeper"], **ALL | {"glass-severity": severity, "glass-description": "crack"})
    assert "something wrong with 1 of them." in page
    assert ("No lesson may be given in QA51 ABC until that is put right and recorded." in page) == stops
    assert ("Do not use this car for lessons" in page) == stops


# --- What is recorded -----------------------------------------------------------------------------------------


def test_all_of_it_with_a_fault_records_the_fault_and_the_rest_as_fine(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, ALL | NAIL)
    check, defect = WalkaroundCheck.objects.get(), Defect.objects.get()
    assert check.points == list(POINTS)
    assert (defect.walkaround, defect.point, defect.severity) == (check, "tyre_walls", "dangerous")
    assert defect.description == "Tyre walls: nail in the rear left"
    assert (defect.found_by, defect.found_on, defect.photo) == ("check", date(2026, 3, 16), None)


def test_a_fault_sent_twice_is_reported_once_and_two_faults_are_two(everyone: dict[str, Client], car: Car) -> None:
    two = ALL | NAIL | {"horn-severity": "watch"}
    for _ in range(2):
        everyone["keeper"].post(PAGE, two)
    assert set(Defect.objects.values_list("point", "description")) == {
        ("tyre_walls", "Tyre walls: nail in the rear left"),
        ("horn", "Horn"),
    }


def test_the_same_fault_in_another_check_is_another_defect(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, ALL | NAIL)
    everyone["keeper"].post(PAGE, ALL | NAIL | {"ref": str(uuid4())})
    assert Defect.objects.count() == 2


def test_a_fault_keeps_its_photo(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, ALL | NAIL | {"tyre_walls-photo": photo()})
    kept = Defect.objects.get().photo
    assert kept is not None
    assert (kept.car, kept.is_of_defect) == (car, True)


def test_ticked_groups_alone_are_recorded(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, TICKED | {"outside-fine": "on", "tuition-fine": "on"})
    assert WalkaroundCheck.objects.get().points == points_of("outside") + points_of("tuition")


def test_a_fault_in_a_group_that_is_not_ticked_is_all_that_was_looked_at_there(
    everyone: dict[str, Client], car: Car
) -> None:
    everyone["keeper"].post(PAGE, TICKED | NAIL | {"inside-fine": "on"})
    assert WalkaroundCheck.objects.get().points == ["tyre_walls", *points_of("inside")]


def test_a_fault_in_a_ticked_group_leaves_the_rest_of_it_fine(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, TICKED | NAIL | {"outside-fine": "on"})
    assert WalkaroundCheck.objects.get().points == points_of("outside")
    assert Defect.objects.get().point == "tyre_walls"


def test_without_a_word_of_which_button_only_what_is_ticked_counts(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, SENT | {"fluids-fine": "on"})
    assert WalkaroundCheck.objects.get().points == points_of("fluids")


def test_a_check_of_another_day_is_of_that_day_and_so_are_its_faults(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, ALL | NAIL | {"checked_on": "14/03/2026", "note": "In the rain"})
    check = WalkaroundCheck.objects.get()
    assert (check.checked_on, check.note) == (date(2026, 3, 14), "In the rain")
    assert Defect.objects.get().found_on == date(2026, 3, 14)


def test_something_wrong_that_was_nothing_after_all_is_no_defect(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, ALL | {"horn-severity": "none"})
    assert "horn" in WalkaroundCheck.objects.get().points
    assert not Defect.objects.exists()


def test_the_co_ops_own_points_are_asked_for_until_they_are_retired(everyone: dict[str, Client], car: Car) -> None:
    own = CheckPointFactory(words="Roof sign")
    CheckPointFactory(words="Fire blanket", retired_on=date(2026, 3, 16))
    page = everyone["keeper"].get(PAGE).content.decode()
    assert "Roof sign" in page
    assert "Fire blanket" not in page
    everyone["keeper"].post(PAGE, ALL | {f"{own.name}-severity": "watch"})
    assert WalkaroundCheck.objects.get().points == [*POINTS, own.name]
    assert Defect.objects.get().description == "Roof sign"


# --- What is refused ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "field", "why"),
    [
        ({"horn-description": "silent"}, "horn-severity", "Say how serious it is."),
        (
            {"horn-description": "silent", "horn-severity": "none"},
            "horn-severity",
            "If nothing is wrong, delete what you wrote.",
        ),
        ({"horn-severity": "bad"}, "horn-severity", "Select a valid choice. bad is not one of the available choices."),
        ({"checked_on": "2026-03-17"}, "checked_on", "17 March 2026 has not come yet: today is 16 March 2026."),
        ({"checked_on": "Monday"}, "checked_on", "Write the day like 5 March 2027 or 05/03/2027."),
        ({"ref": "seven"}, "ref", "Reload the page and try again."),
    ],
)
def test_what_is_half_said_is_refused_beside_its_field_and_kept(
    everyone: dict[str, Client], car: Car, change: dict[str, str], field: str, why: str
) -> None:
    response = everyone["keeper"].post(PAGE, ALL | {"note": "In the rain"} | change)
    form = response.context["form"]
    assert form.errors == {field: [why]}
    assert all(form[name].value() == typed for name, typed in change.items())
    assert form["note"].value() == "In the rain"
    assert not WalkaroundCheck.objects.exists()
    assert not Defect.objects.exists()


def test_a_fault_half_filled_in_comes_back_open_and_the_others_closed(everyone: dict[str, Client], car: Car) -> None:
    form = everyone["keeper"].post(PAGE, ALL | {"horn-description": "silent"}).context["form"]
    assert [item.point.name for group in form.groups for item in group.points if item.is_open] == ["horn"]


def test_a_photo_alone_is_half_said_and_has_to_be_chosen_again(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].post(PAGE, ALL | {"horn-photo": photo()})
    assert response.context["form"].errors == {"horn-severity": ["Say how serious it is."]}
    assert "The photos were not kept: please choose them again." in response.content.decode()


def test_what_is_no_photo_is_refused_beside_it(everyone: dict[str, Client], car: Car) -> None:
    note = SimpleUploadedFile("nail.jpg", b"not a picture", "image/jpeg")
    form = everyone["keeper"].post(PAGE, ALL | NAIL | {"tyre_walls-photo": note}).context["form"]
    assert list(form.errors) == ["tyre_walls-photo"]
    assert not Defect.objects.exists()


def test_nothing_ticked_is_refused(everyone: dict[str, Client], car: Car) -> None:
    form = everyone["keeper"].post(PAGE, TICKED).context["form"]
    assert form.non_field_errors() == ["Tick the parts that you looked at, or say what is wrong."]
    assert not WalkaroundCheck.objects.exists()


# --- The page -------------------------------------------------------------------------------------------------


def test_the_page_shows_every_group_and_point_and_that_other_things_come_first(
    everyone: dict[str, Client], car: Car
) -> None:
    page = everyone["keeper"].get(PAGE).content.decode()
    assert all(title in page for title in GROUPS.values())
    assert "The law, the car's handbook and a qualified technician come first." in page
    assert "No check is in the book yet." in page
    assert 'value="2026-03-16"' in page
    assert " checked" not in page
    assert " safe" not in page.lower()


def test_each_page_that_is_opened_has_a_reference_of_its_own(everyone: dict[str, Client], car: Car) -> None:
    refs = {everyone["keeper"].get(PAGE).context["form"]["ref"].value() for _ in range(2)}
    assert len(refs) == 2


def test_it_says_how_long_ago_the_last_look_was(everyone: dict[str, Client], car: Car) -> None:
    WalkaroundCheckFactory(car=car, checked_on=date(2026, 3, 7))
    WalkaroundCheckFactory(car=car, checked_on=date(2026, 3, 1))
    page = everyone["keeper"].get(PAGE).content.decode()
    assert "Last checked 9 days ago. The next check was due on 14 March 2026." in page


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


def test_a_broken_letter_sent_by_no_browser_is_refused_not_an_error(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["keeper"].post(PAGE, SENT | {"extent": "all\0"}).status_code == 200
    assert not WalkaroundCheck.objects.exists()


def test_as_many_queries_however_many_points_the_co_op_adds(
    everyone: dict[str, Client], car: Car, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    CheckPointFactory.create_batch(10)
    with django_assert_max_num_queries(16):
        everyone["keeper"].get(PAGE)
