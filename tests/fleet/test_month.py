"""The page /due/month/: what falls due, on a calendar."""

import re
from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from fleet.views.month import MonthItem
from instructors.models import Member
from tests.factories import CarFactory, DueItemFactory, MemberFactory

pytestmark = pytest.mark.usefixtures("today")

MONTH = reverse("fleet:month")


def text_of(response: Any) -> str:
    return " ".join(response.content.decode().replace('<span class="mark">', "").split())


def held_by(response: Any) -> dict[date, list[str]]:
    """What each day of the page holds."""
    return {
        day.on: [f"{words_of(event.item)}, {event.state_words}" for event in day.events]
        for day in response.context["days"]
        if day.events
    }


def words_of(item: MonthItem) -> str:
    return f"{item.title}: {item.mark}" if item.mark else item.title


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(MONTH).url.startswith(reverse("account_login"))


@pytest.mark.parametrize(
    ("who", "sees"),
    [
        ("keeper", {"MOT: QA51 ABC", "ADI registration"}),
        ("colleague", {"MOT: QB02 XYZ"}),
        ("coordinator", {"MOT: QA51 ABC", "MOT: QB02 XYZ", "ADI registration"}),
        ("stranger", set()),
    ],
)
def test_everybody_sees_what_they_may_see(
    everyone: dict[str, Client], car: Car, colleague_car: Car, keeper: Member, who: str, sees: set[str]
) -> None:
    for one in (car, colleague_car):
        DueItemFactory(car=one, due_on=date(2026, 3, 20))
    DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 3, 21))
    response = everyone[who].get(MONTH)
    titles = {title.rsplit(", ", 1)[0] for held in held_by(response).values() for title in held}
    assert titles == sees
    # A coordinator is told whose each is: the car's keeper as on the board, and the holder of a credential.
    items = [event.item for day in response.context["days"] for event in day.events]
    assert [item.of for item in items] == (
        [keeper.name, colleague_car.keeper.name, keeper.name] if who == "coordinator" else [""] * len(sees)
    )


def test_due_and_booked_days_stand_on_their_days(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, due_on=date(2026, 3, 2))
    DueItemFactory(car=car, kind="service", due_on=date(2026, 3, 31), booked_for=date(2026, 3, 18))
    assert held_by(everyone["keeper"].get(MONTH)) == {
        date(2026, 3, 2): ["MOT: QA51 ABC, 14 days overdue"],
        date(2026, 3, 18): ["Service: QA51 ABC, Booked for this day"],
        date(2026, 3, 31): ["Service: QA51 ABC, Due in 15 days; booked for 18 March 2026"],
    }


def test_what_has_no_day_is_named_below(everyone: dict[str, Client], car: Car) -> None:
    page = text_of(everyone["keeper"].get(MONTH))
    assert "<span>MOT: QA51 ABC</span></span></a>" in page


def test_what_is_recorded_but_awaits_confirmation_is_named_below_with_its_day(
    everyone: dict[str, Client], car: Car
) -> None:
    DueItemFactory(car=car, kind="insurance", due_on=date(2026, 3, 25), is_confirmed=False)
    words = "Recorded until 25 March 2026, but nobody has confirmed that the policy covers tuition"
    assert f'<span>Insurance: QA51 ABC</span></span></a> <p class="small">{words}</p>' in text_of(
        everyone["keeper"].get(MONTH)
    )


def test_the_first_three_of_a_day_are_the_worst(everyone: dict[str, Client], car: Car) -> None:
    on = date(2026, 3, 12)
    for kind in ("breakdown_cover", "dual_controls", "service", "mot"):
        DueItemFactory(car=car, kind=kind, due_on=on)
    DueItemFactory(car=car, kind="other", note="Air freshener", due_on=on)
    shown = held_by(everyone["keeper"].get(MONTH))[on]
    assert shown[0] == "MOT: QA51 ABC, 4 days overdue"
    assert len(shown) == 3
    whole = everyone["keeper"].get(reverse("fleet:due-day", args=[on.isoformat()]))
    assert words_of(whole.context["events"][0].item) == "MOT: QA51 ABC"


def test_what_ran_out_before_the_month_is_named_below_until_it_is_met(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, due_on=date(2026, 1, 30))
    words = '<span>MOT: QA51 ABC</span></span></a> <p class="small">30 January 2026, 45 days overdue</p>'
    assert words in text_of(everyone["keeper"].get(MONTH))
    assert words in text_of(everyone["keeper"].get(MONTH, {"month": "2026-02"}))  # a phone shows no other month's days
    assert words in text_of(everyone["keeper"].get(MONTH, {"month": "2026-04"}))
    assert "Overdue from before" not in text_of(everyone["keeper"].get(MONTH, {"month": "2026-01"}))


def test_a_coordinator_is_told_whose_car_is_named_below(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    DueItemFactory(car=car, due_on=date(2026, 1, 30))
    page = text_of(everyone["coordinator"].get(MONTH))
    for title, keeper in (("MOT: QA51 ABC", car.keeper), ("MOT: QB02 XYZ", colleague_car.keeper)):
        assert f"<span>{title}</span></span></a> {keeper.name} <p" in page


def test_today_is_marked_in_words(everyone: dict[str, Client]) -> None:
    page = text_of(everyone["stranger"].get(MONTH))
    assert "<h2><span>Monday </span>16<span> March</span>, today</h2>" in page


def test_a_desk_and_a_phone_are_given_the_same_once(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, due_on=date(2026, 3, 20))
    page = text_of(everyone["keeper"].get(MONTH))
    assert len(re.findall("MOT: QA51 ABC</span></span></a>", page)) == 1
    assert "<h2><span>Friday </span>20<span> March</span></h2>" in page


def test_a_day_shows_three_and_leads_to_the_others(everyone: dict[str, Client]) -> None:
    for car in CarFactory.create_batch(4):
        DueItemFactory(car=car, due_on=date(2026, 3, 20))
    DueItemFactory(car=car, kind="service", due_on=date(2026, 4, 2))
    response = everyone["coordinator"].get(MONTH)
    assert [len(held) for held in held_by(response).values()] == [3]
    day, next_month = (reverse("fleet:due-day", args=[on]) for on in ("2026-03-20", "2026-04-02"))
    page = text_of(response)
    assert f'<a href="{day}">1 more<span class="sr"> on 20 March</span></a>' in page
    assert f'<a href="{next_month}">1 due or booked<span class="sr"> on 2 April</span></a>' in page
    assert page.count("/due/day/") == 2


@pytest.mark.parametrize(
    ("asked", "before", "shown", "after"),
    [
        ("2026-03", "2026-02", "March 2026", "2026-04"),
        ("2026-12", "2026-11", "December 2026", "2027-01"),
        ("2027-01", "2026-12", "January 2027", "2027-02"),
    ],
)
def test_one_may_leaf_to_and_fro(everyone: dict[str, Client], asked: str, before: str, shown: str, after: str) -> None:
    page = text_of(everyone["keeper"].get(MONTH, {"month": asked}))
    assert f"<h1>{shown}</h1>" in page
    assert f'rel="prev" href="?month={before}"' in page
    assert f'rel="next" href="?month={after}"' in page
    assert ("This month" in page) == (asked != "2026-03")


@pytest.mark.parametrize("asked", ["", "March", "2026-13", "2026-3", "0001-01", "9999-12", "2026-03-01", "२०२६-०३"])
def test_what_is_no_month_shows_this_one(everyone: dict[str, Client], asked: str) -> None:
    assert "<h1>March 2026</h1>" in text_of(everyone["keeper"].get(MONTH, {"month": asked}))


@pytest.mark.parametrize(("asked", "missing"), [("1980-01", "prev"), ("2100-12", "next")])
def test_the_years_of_the_book_end_somewhere(everyone: dict[str, Client], asked: str, missing: str) -> None:
    assert f'rel="{missing}"' not in text_of(everyone["keeper"].get(MONTH, {"month": asked}))


def test_who_has_left_is_not_there_any_more(everyone: dict[str, Client]) -> None:
    left = MemberFactory(left_on=date(2026, 3, 1))
    DueItemFactory(car=None, member=left, kind="driving_licence", due_on=date(2026, 3, 20))
    assert not held_by(everyone["coordinator"].get(MONTH))
