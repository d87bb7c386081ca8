"""The page /cars/: which cars are fit for lessons, and what falls due on them."""

import gzip
import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.models import Car
from instructors.models import Member
from tests.factories import (
    CarFactory,
    CoordinatorFactory,
    CostEntryFactory,
    DefectFactory,
    DueItemFactory,
    MemberFactory,
    OdometerReadingFactory,
    PulseFactory,
    ReminderMailFactory,
    ReminderRunFactory,
    TreadReadingFactory,
    WalkaroundCheckFactory,
)

CARS = reverse("fleet:car-list")
LATER = date(2026, 10, 3)

pytestmark = pytest.mark.usefixtures("today")


def covered(car: Car, **days: date) -> Car:
    """The car with MOT, vehicle tax and insurance in the book, all far off unless told otherwise."""
    for kind in ("mot", "vehicle_tax", "insurance"):
        DueItemFactory(car=car, kind=kind, due_on=days.get(kind, LATER))
    return car


def of_several(car: Car) -> Car:
    """The car, whose keeper keeps another one too: of an only car there is no list."""
    covered(CarFactory(keeper=car.keeper))
    return car


def text_of(response: Any) -> str:
    return " ".join(response.content.decode().split())


def counts_on(response: Any) -> dict[str, int]:
    """How many cars stand how, as the sentence at the top of the page says."""
    said = re.sub("<svg.*?</svg>", "", text_of(response))
    return {words: int(count) for count, words in re.findall(r'<span class="whole">\s*(\d+)</span> ([^<]+)<', said)}


def marks_on(response: Any) -> list[str]:
    return [row.car.registration for row in response.context["report"].rows]


def test_who_is_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    response = everyone["anonymous"].get(CARS)
    assert response.status_code == 302
    assert response.url.startswith(reverse("account_login"))


@pytest.mark.parametrize(
    ("who", "sees"),
    [
        ("coordinator", {"QA51 ABC", "QB02 XYZ"}),
        ("keeper", {"QA51 ABC"}),
        ("colleague", {"QB02 XYZ"}),
        ("stranger", set()),
    ],
)
def test_a_coordinator_sees_all_cars_and_a_member_the_own(
    everyone: dict[str, Client], car: Car, colleague_car: Car, who: str, sees: set[str]
) -> None:
    page = text_of(everyone[who].get(CARS))
    assert {mark for mark in ("QA51 ABC", "QB02 XYZ") if mark in page} == sees


def test_a_member_does_not_see_other_members_names(
    everyone: dict[str, Client], car: Car, colleague_car: Car, colleague: Member
) -> None:
    assert colleague.name not in text_of(everyone["keeper"].get(CARS))
    assert colleague.name in text_of(everyone["coordinator"].get(CARS))


def test_cars_off_the_road_come_first_with_the_reasons_in_words(everyone: dict[str, Client]) -> None:
    covered(CarFactory(registration="QC03AAA"), mot=date(2026, 3, 17))
    covered(CarFactory(registration="QD04BBB"), insurance=date(2026, 3, 15), vehicle_tax=date(2026, 2, 28))
    response = everyone["coordinator"].get(CARS)
    assert marks_on(response) == ["QD04BBB", "QC03AAA"]
    page = text_of(response)
    words = "Insurance ran out on 15 March 2026; Vehicle tax ran out on 28 February 2026"
    assert f"<b>Off the road:</b> {words}" in page
    assert page.count("<b>Off the road:</b>") == page.count('<tr class="off">') == 1
    assert counts_on(response) == {"off the road": 1, "due": 1}


def test_the_others_follow_by_what_presses_most(everyone: dict[str, Client]) -> None:
    covered(CarFactory(registration="QC03AAA"))
    covered(CarFactory(registration="QD04BBB"), mot=date(2026, 3, 23))
    covered(CarFactory(registration="QE05CCC"), insurance=date(2026, 3, 17))
    CarFactory(registration="QF06DDD")  # nothing recorded: unknown, which is not fine
    response = everyone["coordinator"].get(CARS)
    assert marks_on(response) == ["QF06DDD", "QE05CCC", "QD04BBB", "QC03AAA"]
    page = text_of(response)
    assert "MOT 23 March 2026, in 7 days" in page
    assert "Insurance 17 March 2026, tomorrow" in page
    assert "MOT: nothing is recorded, and 2 more" in page


def test_the_state_is_told_by_word_and_shape(everyone: dict[str, Client], car: Car) -> None:
    covered(car, mot=date(2026, 3, 23))
    page = text_of(everyone["keeper"].get(CARS))
    cell, row = '<b>23 Mar<span class="sr">, due</span></b>', '<b class="num">23 Mar<span class="sr">, due'
    for where in (cell, row):
        before = page[: page.index(where)]
        assert before.rindex('<svg class="st st-due"') == before.rindex("<svg class=")


def test_the_booked_day_is_told(everyone: dict[str, Client], car: Car) -> None:
    covered(of_several(car))
    DueItemFactory(car=car, kind="dual_controls", due_on=date(2026, 3, 30), booked_for=date(2026, 3, 20))
    words = "Dual controls inspection booked for 20 March 2026; due on 30 March 2026, in 14 days"
    assert words in text_of(everyone["keeper"].get(CARS))


def test_a_day_that_is_today_is_still_good(everyone: dict[str, Client], car: Car) -> None:
    covered(of_several(car), mot=date(2026, 3, 16))
    page = text_of(everyone["keeper"].get(CARS))
    assert "MOT 16 March 2026, today" in page
    assert "st-due" in page
    assert "st-off" not in page


def test_cars_out_of_service_stand_behind_a_link(everyone: dict[str, Client], keeper: Member) -> None:
    CarFactory(registration="QC03AAA", keeper=keeper, in_service_to=date(2026, 3, 15))
    CarFactory(registration="QD04BBB", keeper=keeper, in_service_to=date(2026, 3, 16))
    page = text_of(everyone["keeper"].get(CARS))
    assert "QC03 AAA" not in page
    assert "QD04 BBB" in page
    assert "Show cars out of service (1)" in page
    page = text_of(everyone["keeper"].get(CARS, {"out-of-service": "1"}))
    assert "QC03 AAA" in page
    assert "In service until 15 March 2026" in page


def test_a_coordinator_is_told_of_credentials_that_press(
    everyone: dict[str, Client], keeper: Member, colleague: Member
) -> None:
    DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 6, 1))
    DueItemFactory(car=None, member=colleague, kind="driving_licence", due_on=date(2031, 6, 1))
    page = text_of(everyone["coordinator"].get(CARS))
    assert "ADI registration 1 June 2026, in 77 days" in page
    assert "Driving licence photocard" not in page
    assert "ADI registration" not in text_of(everyone["colleague"].get(CARS))


def test_a_coordinator_is_told_who_has_no_licence_to_teach_recorded(
    everyone: dict[str, Client], car: Car, colleague_car: Car, keeper: Member, colleague: Member, stranger: Member
) -> None:
    DueItemFactory(car=None, member=colleague, kind="pdi_licence", due_on=date(2026, 9, 1))
    DueItemFactory(car=None, member=keeper, kind="driving_licence", due_on=date(2031, 6, 1))
    words = f"Neither an ADI registration nor a trainee licence is recorded for {keeper.name}. They"
    assert words in text_of(everyone["coordinator"].get(CARS))
    assert "Neither an ADI" not in text_of(everyone["keeper"].get(CARS))
    DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=date(2031, 6, 1))
    assert "Neither an ADI" not in text_of(everyone["coordinator"].get(CARS))


@pytest.mark.parametrize(("who", "words"), [("coordinator", "Add a car"), ("stranger", "You keep no car yet")])
def test_an_empty_book_says_what_to_do_first(everyone: dict[str, Client], who: str, words: str) -> None:
    assert words in text_of(everyone[who].get(CARS))


@pytest.fixture
def mixed(db: None) -> None:
    """A car for each thing that a filter may ask of it; their marks tell which."""
    covered(CarFactory(registration="QAFINE"), mot=date(2026, 10, 3))
    covered(CarFactory(registration="QA05DAYS"), mot=date(2026, 3, 21))
    covered(CarFactory(registration="QA29DAYS"), insurance=date(2026, 4, 14))
    covered(CarFactory(registration="QA80DAYS"), insurance=date(2026, 6, 4))
    service = covered(CarFactory(registration="QABOOKED"))
    DueItemFactory(car=service, kind="service", due_on=date(2026, 3, 19), booked_for=date(2026, 3, 18))
    covered(CarFactory(registration="QAPAST"), mot=date(2026, 3, 1))
    mild = covered(CarFactory(registration="QAMILD"))
    DueItemFactory(car=mild, kind="service", due_on=date(2026, 3, 1))
    no_mot = CarFactory(registration="QANOMOT")
    for kind in ("vehicle_tax", "insurance"):
        DueItemFactory(car=no_mot, kind=kind, due_on=date(2026, 10, 3))
    DefectFactory(car=covered(CarFactory(registration="QASTOP")), severity="dangerous", description="Brake pedal sinks")


ALWAYS = {"QAPAST", "QAMILD", "QANOMOT", "QASTOP"}


@pytest.mark.usefixtures("mixed")
@pytest.mark.parametrize(
    ("within", "shown"),
    [
        ("7", ALWAYS | {"QA05DAYS", "QABOOKED"}),
        ("30", ALWAYS | {"QA05DAYS", "QABOOKED", "QA29DAYS"}),
        ("90", ALWAYS | {"QA05DAYS", "QABOOKED", "QA29DAYS", "QA80DAYS"}),
    ],
)
def test_a_filter_keeps_what_is_due_soon_and_whatever_is_past_or_unknown(
    everyone: dict[str, Client], within: str, shown: set[str]
) -> None:
    response = everyone["coordinator"].get(CARS, {"within": within})
    assert set(marks_on(response)) == shown
    hidden = 9 - len(shown)
    page = text_of(response)
    assert f"due within {within} days" in page
    assert f"{hidden} other car{'s' if hidden > 1 else ''} hidden." in page
    assert sum(counts_on(response).values()) == 7  # of all, whatever is hidden
    assert response.context["board"].car_count == 9


@pytest.mark.usefixtures("mixed")
@pytest.mark.parametrize("within", ["", "8", "-7", "7 days", "none"])
def test_no_other_filter_hides_a_car(everyone: dict[str, Client], within: str) -> None:
    response = everyone["coordinator"].get(CARS, {"within": within})
    assert len(marks_on(response)) == 9
    assert "Shown:" not in text_of(response)


@pytest.mark.usefixtures("mixed")
def test_each_car_is_counted_once_and_none_without_an_mot_day_as_quiet(everyone: dict[str, Client]) -> None:
    assert counts_on(everyone["coordinator"].get(CARS)) == {
        "off the road": 2,  # QAPAST, QASTOP
        "not known": 1,  # QANOMOT
        "due": 4,  # QAMILD, QA05DAYS, QA29DAYS, QABOOKED
    }


def test_where_nothing_is_due_soon_the_page_says_so(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    covered(car)
    covered(colleague_car)
    page = text_of(everyone["coordinator"].get(CARS))
    assert "Nothing is due soon." in page
    assert "2 cars, worst first, as recorded on 16 March 2026." in page


def test_no_shape_parts_from_its_number(everyone: dict[str, Client], car: Car) -> None:
    covered(car, mot=date(2026, 3, 15))
    covered(CarFactory(), mot=date(2026, 3, 23))
    head = everyone["coordinator"].get(CARS).content.decode().partition("</h1>")[0]
    assert len(re.findall(r'<span class="whole">\s*<svg[^>]*>.*?</svg>\s*1</span> ', head)) == 2


@pytest.mark.parametrize(
    ("mot", "words"),
    [
        (date(2026, 10, 3), "Nothing against QA51 ABC"),
        (date(2026, 3, 23), "MOT runs out in 7 days"),
        (date(2026, 3, 15), "QA51 ABC is off the road"),
    ],
)
def test_of_an_only_car_the_verdict_is_said(everyone: dict[str, Client], car: Car, mot: date, words: str) -> None:
    covered(car, mot=mot)
    page = text_of(everyone["keeper"].get(CARS))
    assert f">{words}</a>. </h1>" in page
    assert "Each car" not in page
    assert "worst first" not in page.replace("obligation, worst first", "")
    may_be_reminded = mot != LATER
    assert ("Each car" in text_of(everyone["coordinator"].get(CARS))) == may_be_reminded
    of_several(car)
    page = text_of(everyone["keeper"].get(CARS))
    assert "<summary>Each car</summary>" in page
    assert "2 cars, worst first, as recorded on" in page


def test_under_a_filter_the_row_tells_what_it_let_through(everyone: dict[str, Client], car: Car) -> None:
    covered(of_several(car), mot=date(2026, 4, 10))
    DueItemFactory(car=car, kind="service", due_on=date(2026, 3, 19), booked_for=date(2026, 3, 18))
    first = "Service booked for 18 March 2026; due on 19 March 2026, in 3 days"
    assert f"{first}, and 1 more" in text_of(everyone["keeper"].get(CARS))  # the MOT
    page = text_of(everyone["keeper"].get(CARS, {"within": "7"}))
    assert first in page
    assert f"{first}, and 1 more" not in page


def test_open_defects_are_counted_and_closed_ones_are_not(everyone: dict[str, Client], car: Car) -> None:
    covered(of_several(car))
    DefectFactory(car=car)
    assert "1 defect open" in text_of(everyone["keeper"].get(CARS))
    DefectFactory(car=car)
    DefectFactory(car=car, state="closed", closed_on=date(2026, 3, 12))
    assert "2 defects open" in text_of(everyone["keeper"].get(CARS))


def test_a_dangerous_defect_puts_the_car_off_the_road_and_its_due_items_are_more(
    everyone: dict[str, Client], car: Car
) -> None:
    covered(of_several(car), insurance=date(2026, 3, 1), mot=date(2026, 3, 20))
    DefectFactory(car=car, severity="dangerous", description="Brake pedal sinks")
    page = text_of(everyone["keeper"].get(CARS))
    assert "Dangerous, do not drive: Brake pedal sinks; Insurance ran out on 1 March 2026, and 1 more" in page


@pytest.mark.parametrize(
    ("checked_on", "words"),
    [
        (None, "Never checked"),
        (date(2026, 3, 16), "Checked today"),
        (date(2026, 3, 15), "Checked yesterday"),
        (date(2026, 3, 11), "Checked 5 days ago"),
    ],
)
def test_it_is_told_how_long_ago_a_car_was_looked_round(
    everyone: dict[str, Client], car: Car, checked_on: date | None, words: str
) -> None:
    of_several(car)
    if checked_on:
        WalkaroundCheckFactory(car=car, checked_on=date(2026, 2, 1))
        WalkaroundCheckFactory(car=car, checked_on=checked_on)
    assert words in text_of(everyone["keeper"].get(CARS))


@pytest.mark.parametrize(
    ("finished_at", "is_late"),
    [(datetime(2026, 3, 16, 7, tzinfo=UTC), False), (datetime(2026, 3, 14, 7, tzinfo=UTC), True)],
)
def test_a_coordinator_is_warned_when_reminders_have_stopped(
    everyone: dict[str, Client], car: Car, finished_at: datetime, is_late: bool
) -> None:
    PulseFactory()
    ReminderRunFactory(finished_at=finished_at)
    assert ("Reminders have stopped" in text_of(everyone["coordinator"].get(CARS))) == is_late
    assert "Reminders have stopped" not in text_of(everyone["keeper"].get(CARS))


def test_nobody_sees_what_a_car_costs(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, amount=Decimal("1234.56"))
    for who in ("keeper", "coordinator"):
        assert "£" not in text_of(everyone[who].get(CARS))


def full_car() -> Car:
    """A car with something of everything that the board reads."""
    car = covered(CarFactory(keeper=MemberFactory()), mot=date(2026, 4, 1))
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=30_000)
    DueItemFactory(car=None, member=car.keeper, kind="adi_registration", due_on=date(2026, 4, 1))
    OdometerReadingFactory(car=car)
    WalkaroundCheckFactory(car=car)
    DefectFactory(car=car)
    TreadReadingFactory(car=car, inner="1.2")
    ReminderMailFactory(recipient=car.keeper, kind="asked", asked_by=car.keeper)
    return car


def test_the_number_of_queries_does_not_grow_with_the_cars(
    db: None, client_of: Callable[[Member], Client], django_assert_num_queries: Any
) -> None:
    client = client_of(CoordinatorFactory())
    for _ in range(5):
        full_car()
    with CaptureQueriesContext(connection) as for_five:
        client.get(CARS)
    for _ in range(45):
        full_car()
    with django_assert_num_queries(len(for_five)):
        page = client.get(CARS)
    assert page.context["board"].car_count == 50
    assert len(page.context["report"].rows) == 12
    assert len(gzip.compress(page.content)) < 6_000  # as it is sent: compact enough for a phone on a weak signal


def test_a_policy_that_awaits_confirmation_stands_with_its_day(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", due_on=date(2026, 3, 25), is_confirmed=False)
    assert "25 Mar, to confirm" in text_of(everyone["coordinator"].get(reverse("fleet:car-list")))
