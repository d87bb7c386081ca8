"""The page /cars/<mark>/check/<ref>/<group>/: one group of a look round a car, all fine or what is wrong."""

import io
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image
from pytest_django import DjangoAssertNumQueries

from fleet.core.points import GROUPS, POINTS
from fleet.models import Car, Defect, ReminderMail, WalkaroundCheck
from fleet.queries import points_in_use
from instructors.models import Member
from tests.factories import CheckPointFactory, DefectFactory, MemberFactory, WalkaroundCheckFactory

pytestmark = pytest.mark.usefixtures("today")

REF = "7b1f3f0e-38b5-4b64-9d0b-0f3a5b0a4f11"
TODAY = date(2026, 3, 16)
DAY = {"checked_on": "2026-03-16"}
NAIL = {
    "tyre_walls-fault": "on",
    "tyre_walls-severity": "dangerous",
    "tyre_walls-description": "nail in the rear left",
}


def page_of(group: str, ref: str = REF, mark: str = "QA51ABC") -> str:
    return reverse("fleet:check-group", args=[mark, ref, group])


OUTSIDE = page_of("outside")


def text(client: Client, address: str) -> str:
    return " ".join(client.get(address).content.decode().split())


def shown(client: Client, group: str, **sent: Any) -> str:
    return " ".join(client.post(page_of(group), DAY | sent, follow=True).content.decode().split())


def walk(client: Client, **faults: dict[str, Any]) -> str:
    """Go all the way round, with the faults of each group; the page that comes at the end."""
    return [shown(client, group, **faults.get(group, {})) for group in GROUPS][-1]


def names_of(car: Car, *groups: str) -> list[str]:
    return [point.name for point in points_in_use(car, TODAY) if point.group in groups]


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
    assert everyone[who].get(OUTSIDE, headers=headers).status_code == status
    assert everyone[who].post(OUTSIDE, DAY, headers=headers).status_code == status
    assert not WalkaroundCheck.objects.exists()


def test_a_group_that_the_car_has_not_or_a_check_of_another_car_is_not_there(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    assert everyone["keeper"].get(page_of("wings")).status_code == 404
    everyone["coordinator"].post(OUTSIDE, DAY)
    assert everyone["coordinator"].get(page_of("fluids", mark=colleague_car.registration)).status_code == 404


def test_two_members_with_the_same_reference_do_not_meet(everyone: dict[str, Client], car: Car) -> None:
    for who in ("keeper", "coordinator"):
        everyone[who].post(OUTSIDE, DAY)
    assert WalkaroundCheck.objects.count() == 2


def test_the_history_says_who_recorded_it(everyone: dict[str, Client], car: Car) -> None:
    everyone["coordinator"].post(OUTSIDE, DAY)
    assert WalkaroundCheck.objects.get().history.get().history_user.email == "coordinator@book.example"


# --- The walk -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_each_group_leads_to_the_next_and_the_last_to_the_car(everyone: dict[str, Client], car: Car, who: str) -> None:
    led_to = [everyone[who].post(page_of(group), DAY).url for group in GROUPS]
    assert led_to == [page_of("fluids"), page_of("inside"), page_of("tuition"), "/cars/QA51ABC/"]
    check = WalkaroundCheck.objects.get()
    assert (check.car, check.member.email, check.checked_on) == (car, f"{who}@book.example", TODAY)
    assert (check.points, check.is_whole) == (names_of(car, *GROUPS), True)
    assert not Defect.objects.exists()


def test_one_press_passes_one_group_and_no_more(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(OUTSIDE, DAY | {"extent": "all", "fluids-fine": "on"})
    assert WalkaroundCheck.objects.get().points == names_of(car, "outside")
    page = text(everyone["keeper"], reverse("fleet:check-list", args=["QA51ABC"]))
    assert "No check is in the book yet." in page
    assert "8 of 26 points; all of: Round the outside." in page


def test_sent_twice_it_goes_on_and_counts_once(everyone: dict[str, Client], car: Car) -> None:
    for _ in range(2):
        assert everyone["keeper"].post(OUTSIDE, DAY | NAIL).url == page_of("fluids")
    assert WalkaroundCheck.objects.get().points == names_of(car, "outside")
    assert Defect.objects.count() == 1


def test_back_and_on_again_goes_on_where_one_was(everyone: dict[str, Client], car: Car) -> None:
    for group in ("outside", "fluids"):
        everyone["keeper"].post(page_of(group), DAY)
    assert "You have looked at this part already." in text(everyone["keeper"], OUTSIDE)
    assert everyone["keeper"].post(OUTSIDE, DAY).url == page_of("inside")


def test_an_electric_automatic_is_not_asked_for_oil_or_clutch(everyone: dict[str, Client], car: Car) -> None:
    Car.objects.update(fuel="electric", transmission="automatic")
    fluids, inside = text(everyone["keeper"], page_of("fluids")), text(everyone["keeper"], page_of("inside"))
    assert "Engine oil" not in fluids
    assert "2 of 4, four points" in fluids
    assert "All four are fine" in fluids
    assert "Clutch" not in inside
    assert "Gear selector" in inside
    walk(everyone["keeper"])
    check = WalkaroundCheck.objects.get()
    assert check.is_whole
    assert not {"engine_oil", "clutch", "bodywork"} & set(check.points)


def test_a_car_without_dual_controls_is_not_asked_for_them(everyone: dict[str, Client], car: Car) -> None:
    assert "Dual controls" in text(everyone["keeper"], page_of("tuition"))
    Car.objects.update(dual_controls=False)
    assert "Dual controls" not in text(everyone["keeper"], page_of("tuition"))


def test_the_drawing_says_what_is_done_and_what_is_to_come(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(OUTSIDE, DAY)
    page = text(everyone["keeper"], page_of("fluids"))
    title = "The car from above: round the outside done, under the bonnet now, at the wheel and for tuition to come"
    assert f'<title id="above">{title}</title>' in page


# --- What the answer says -------------------------------------------------------------------------------------


def test_nothing_found_is_told_as_nothing_recorded(everyone: dict[str, Client], car: Car) -> None:
    page = walk(everyone["keeper"])
    assert "QA51 ABC checked on 16 March 2026: 26 points looked at." in page
    assert "No defect was recorded by this check." in page
    assert "Last checked today. Next check due on 23 March 2026." in page
    assert "safe" not in page.lower()


@pytest.mark.parametrize(("severity", "stops"), [("dangerous", True), ("before_next_lesson", True), ("watch", False)])
def test_a_fault_is_told_at_once_in_the_middle_of_the_check(
    everyone: dict[str, Client], car: Car, severity: str, stops: bool
) -> None:
    glass = {"glass-fault": "on", "glass-severity": severity, "glass-description": "crack"}
    page = shown(everyone["keeper"], "outside", **glass)
    assert "Recorded: Windscreen and windows: crack." in page
    assert ("No lesson may be given in QA51 ABC until that is put right and recorded." in page) == stops
    assert ('class="stop strip"' in page) == stops
    assert "Stop here: all of it is saved" in page
    assert ('class="key second wide"' in page) == stops
    assert "All five are fine" in page


def test_a_grave_fault_of_the_first_group_is_mailed_before_the_second_opens(
    everyone: dict[str, Client], car: Car, coordinator: Member
) -> None:
    everyone["keeper"].post(OUTSIDE, DAY | NAIL)
    told = set(ReminderMail.objects.filter(kind="defect").values_list("recipient__email", flat=True))
    assert told == {"coordinator@book.example"}  # and not whoever found it
    assert not WalkaroundCheck.objects.get().is_whole


@pytest.mark.parametrize(
    ("who", "names", "words"),
    [
        ("keeper", [], ""),
        ("keeper", ["Zoë"], "Zoë gets a mail about it now."),
        ("keeper", ["Zoë", "Ifan"], "The coordinators get a mail about it now."),
        ("coordinator", [], "Its keeper gets a mail about it now."),
        ("coordinator", ["Zoë"], "Its keeper and Zoë get a mail about it now."),
    ],
)
def test_it_says_who_else_is_told(
    everyone: dict[str, Client], car: Car, coordinator: Member, who: str, names: list[str], words: str
) -> None:
    if who == "keeper":
        coordinator.role = "member"
        coordinator.save()
    for name in names:
        MemberFactory(role="coordinator", name=name)
    page = shown(everyone[who], "outside", **NAIL)
    assert f"until that is put right and recorded. {words}".strip() in page
    assert ("a mail about it now" in page) == bool(words)


def test_at_the_end_all_that_the_check_found_is_counted(everyone: dict[str, Client], car: Car) -> None:
    horn = {"horn-fault": "on", "horn-severity": "watch"}
    page = walk(everyone["keeper"], outside=NAIL, inside=horn)
    assert "26 points looked at. 2 defects recorded by this check." in page


def test_one_stops_by_going_to_the_car_and_may_begin_anew(everyone: dict[str, Client], car: Car) -> None:
    assert "Stop here" not in text(everyone["keeper"], OUTSIDE)
    assert "Begin anew" not in text(everyone["keeper"], OUTSIDE)
    everyone["keeper"].post(OUTSIDE, DAY)
    page = text(everyone["keeper"], page_of("fluids"))
    assert 'href="/cars/QA51ABC/">Stop here: all of it is saved</a>' in page
    assert "Begin anew" in page
    walk(everyone["keeper"])
    assert "Stop here" not in text(everyone["keeper"], page_of("fluids"))


# --- What is open already ---------------------------------------------------------------------------------------


def test_open_defects_stand_first_worst_first_and_at_their_points(everyone: dict[str, Client], car: Car) -> None:
    DefectFactory(car=car, severity="watch", description="Chip in the windscreen", point="glass")
    DefectFactory(car=car, severity="dangerous", description="Brake pedal sinks", point="brakes")
    DefectFactory(car=car, severity="watch", description="Gone", point="glass", state="closed", closed_on=TODAY)
    page = text(everyone["keeper"], OUTSIDE)
    page = page[page.index('class="walk"') :]
    assert page.index("Open already:") < page.index("Brake pedal sinks") < page.index("Chip in the windscreen")
    assert page.index("Chip in the windscreen") < page.index("Tyre tread") < page.index("Windscreen and windows")
    assert "Open already: Chip in the windscreen, watched since" in page
    assert "Open already: Brake pedal sinks" not in page
    assert "Gone" not in page


def test_what_is_open_is_not_passed_over_as_all_fine_and_stays_open(everyone: dict[str, Client], car: Car) -> None:
    chip = DefectFactory(car=car, severity="watch", description="Chip in the windscreen", point="glass")
    page = text(everyone["keeper"], OUTSIDE)
    assert '<span data-aside="0" hidden>All eight are fine</span>' in page
    assert '<span data-aside="1">The other seven are fine</span>' in page
    assert "Stays open: Chip in the windscreen." in page
    everyone["keeper"].post(OUTSIDE, DAY)
    chip.refresh_from_db()
    assert (chip.state, Defect.objects.count()) == ("open", 1)


def test_many_open_defects_are_named_in_part(everyone: dict[str, Client], car: Car) -> None:
    for number in range(5):
        DefectFactory(car=car, description=f"Scratch {number}")
    page = text(everyone["keeper"], OUTSIDE)
    assert "Scratch 2" in page
    assert "Scratch 3" not in page
    assert "and 2 more" in page


def test_what_this_check_found_stands_at_its_point_alone(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(OUTSIDE, DAY | NAIL | {"tyre_walls-severity": "watch"}, follow=True)
    assert "Open already" not in text(everyone["keeper"], page_of("fluids"))
    assert "Open already: Tyre walls: nail in the rear left, watched since today" in text(everyone["keeper"], OUTSIDE)


# --- What is recorded -----------------------------------------------------------------------------------------


def test_a_fault_is_recorded_and_the_rest_of_its_group_as_looked_at(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(OUTSIDE, DAY | NAIL)
    check, defect = WalkaroundCheck.objects.get(), Defect.objects.get()
    assert check.points == names_of(car, "outside")
    assert (defect.walkaround, defect.point, defect.severity) == (check, "tyre_walls", "dangerous")
    assert defect.description == "Tyre walls: nail in the rear left"
    assert (defect.found_by, defect.found_on, defect.photo) == ("check", TODAY, None)


def test_a_fault_keeps_its_photo(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(OUTSIDE, DAY | NAIL | {"tyre_walls-photo": photo()})
    kept = Defect.objects.get().photo
    assert kept is not None
    assert (kept.car, kept.is_of_defect) == (car, True)


def test_a_fault_that_was_none_after_all_is_no_defect(everyone: dict[str, Client], car: Car) -> None:
    without = {name: value for name, value in NAIL.items() if name != "tyre_walls-fault"}
    everyone["keeper"].post(OUTSIDE, DAY | without)
    assert "tyre_walls" in WalkaroundCheck.objects.get().points
    assert not Defect.objects.exists()


def test_a_check_of_another_day_is_of_that_day_and_so_are_its_faults(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(OUTSIDE, NAIL | {"checked_on": "14/03/2026", "note": "In the rain"})
    check = WalkaroundCheck.objects.get()
    assert (check.checked_on, check.note) == (date(2026, 3, 14), "In the rain")
    assert Defect.objects.get().found_on == date(2026, 3, 14)
    # The day is asked for once, the note may still change.
    form = everyone["keeper"].get(page_of("fluids")).context["form"]
    assert "checked_on" not in form.fields
    assert form["note"].value() == "In the rain"


def test_the_co_ops_own_points_stay_in_their_groups_until_they_are_retired(
    everyone: dict[str, Client], car: Car
) -> None:
    own = CheckPointFactory(words="Roof sign")
    CheckPointFactory(words="Fire blanket", retired_on=TODAY)
    page = text(everyone["keeper"], page_of("tuition"))
    assert "Roof sign" in page
    assert "Fire blanket" not in page
    assert "Roof sign" not in text(everyone["keeper"], OUTSIDE)
    everyone["keeper"].post(page_of("tuition"), DAY | {f"{own.name}-fault": "on", f"{own.name}-severity": "watch"})
    assert WalkaroundCheck.objects.get().points == [*names_of(car, "tuition")]
    assert Defect.objects.get().description == "Roof sign"


# --- How long it took -------------------------------------------------------------------------------------------


def looked_for(client: Client, *minutes: float, opened: str | None = None) -> int | None:
    """Go round, with each group's page open for so many minutes; the seconds that the check keeps."""
    now = datetime(2026, 3, 16, 8, tzinfo=UTC)
    for group, open_for in zip(GROUPS, minutes, strict=True):
        with time_machine.travel(now, tick=False):
            stamp = client.get(page_of(group)).context["form"]["opened"].value()
        now += timedelta(minutes=open_for)
        with time_machine.travel(now, tick=False):
            client.post(page_of(group), DAY | {"opened": stamp if opened is None else opened})
    return WalkaroundCheck.objects.get().seconds


def test_it_keeps_how_long_its_pages_were_open(everyone: dict[str, Client], car: Car) -> None:
    # By hand: 90 + 30 + 60 + 45 seconds.
    assert looked_for(everyone["keeper"], 1.5, 0.5, 1, 0.75) == 225
    page = text(everyone["keeper"], reverse("fleet:check-list", args=["QA51ABC"]))
    assert "It took 4 minutes." in page


def test_a_page_left_open_for_more_than_half_an_hour_says_nothing(everyone: dict[str, Client], car: Car) -> None:
    assert looked_for(everyone["keeper"], 1, 30.5, 1, 1) is None
    assert "It took" not in text(everyone["keeper"], reverse("fleet:check-list", args=["QA51ABC"]))


@pytest.mark.parametrize("opened", ["", "1773648000", "1773648000:forged", "x" * 101])
def test_nobody_says_by_hand_how_long_they_looked(everyone: dict[str, Client], car: Car, opened: str) -> None:
    assert looked_for(everyone["keeper"], 1, 1, 1, 1, opened=opened) is None


def test_an_honest_look_of_three_seconds_is_kept_as_three_seconds(everyone: dict[str, Client], car: Car) -> None:
    assert looked_for(everyone["keeper"], 0, 0.05, 0, 0) == 3
    assert "It took 3 seconds." in text(everyone["keeper"], reverse("fleet:check-list", args=["QA51ABC"]))


# --- What is refused ------------------------------------------------------------------------------------------


HORN = {"horn-fault": "on"}


@pytest.mark.parametrize(
    ("change", "field", "why"),
    [
        (HORN, "horn-severity", "Say how serious it is."),
        (HORN | {"horn-description": "silent"}, "horn-severity", "Say how serious it is."),
        (
            HORN | {"horn-severity": "bad"},
            "horn-severity",
            "Select a valid choice. bad is not one of the available choices.",
        ),
        ({"checked_on": "2026-03-17"}, "checked_on", "17 March 2026 has not come yet: today is 16 March 2026."),
        ({"checked_on": "Monday"}, "checked_on", "Write the day like 5 March 2027 or 05/03/2027."),
    ],
)
def test_what_is_half_said_is_refused_beside_its_field_and_kept(
    everyone: dict[str, Client], car: Car, change: dict[str, str], field: str, why: str
) -> None:
    response = everyone["keeper"].post(page_of("inside"), DAY | {"note": "In the rain"} | change)
    form = response.context["form"]
    assert form.errors == {field: [why]}
    assert all(form[name].value() in (typed, True) for name, typed in change.items())
    assert form["note"].value() == "In the rain"
    assert not WalkaroundCheck.objects.exists()
    assert not Defect.objects.exists()


def test_refused_the_key_still_says_how_many_are_fine(everyone: dict[str, Client], car: Car) -> None:
    page = " ".join(everyone["keeper"].post(page_of("inside"), DAY | HORN).content.decode().split())
    assert '<span data-aside="1">The other seven are fine</span>' in page


def test_a_photo_alone_is_half_said_and_has_to_be_chosen_again(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].post(page_of("inside"), DAY | HORN | {"horn-photo": photo()})
    assert response.context["form"].errors == {"horn-severity": ["Say how serious it is."]}
    assert "The photos were not kept: please choose them again." in response.content.decode()


def test_what_is_no_photo_is_refused_beside_it(everyone: dict[str, Client], car: Car) -> None:
    note = SimpleUploadedFile("nail.jpg", b"not a picture", "image/jpeg")
    form = everyone["keeper"].post(OUTSIDE, DAY | NAIL | {"tyre_walls-photo": note}).context["form"]
    assert list(form.errors) == ["tyre_walls-photo"]
    assert not Defect.objects.exists()


# --- The page -------------------------------------------------------------------------------------------------


def test_the_page_shows_its_points_and_that_other_things_come_first(everyone: dict[str, Client], car: Car) -> None:
    for group in GROUPS:
        page = text(everyone["keeper"], page_of(group)).replace("&#x27;", "'")
        assert all(POINTS[name].words in page for name in names_of(car, group))
        assert GROUPS[group] in page
        assert "The law, the car's handbook and a qualified technician come first." in page
        assert " checked" not in page.replace("No check is in the book yet.", "")
        assert " safe" not in page.lower()


def test_before_it_is_begun_it_says_how_long_ago_the_last_look_was(everyone: dict[str, Client], car: Car) -> None:
    assert "No check is in the book yet." in text(everyone["keeper"], OUTSIDE)
    WalkaroundCheckFactory(car=car, checked_on=date(2026, 3, 7))
    WalkaroundCheckFactory(car=car, checked_on=date(2026, 3, 12), is_whole=False)
    assert "Last checked 9 days ago. The next check was due on 14 March 2026." in text(everyone["keeper"], OUTSIDE)


def test_as_many_queries_however_many_points_the_co_op_adds(
    everyone: dict[str, Client], car: Car, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    CheckPointFactory.create_batch(10)
    with django_assert_max_num_queries(17):
        everyone["keeper"].get(page_of("tuition"))
