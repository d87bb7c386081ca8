"""The page /people/<pk>/leaving/: a member's last day, and what becomes of their cars."""

from datetime import date

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from fleet.queries import keeperships_of
from instructors.models import ActMail, Member
from tests.asked import said_at
from tests.costing.pages import text_of
from tests.factories import (
    AgreementFactory,
    CalendarFeedFactory,
    CoordinatorFactory,
    DefectFactory,
    DueItemFactory,
    OdometerReadingFactory,
)
from tests.fleet.keepers import acts


def page_of(member: Member) -> str:
    return reverse("fleet:member-leave", args=[member.pk])


@pytest.mark.parametrize("who", ["keeper", "colleague", "stranger"])
def test_a_member_without_the_role_finds_nothing_and_records_nothing(
    everyone: dict[str, Client], keeper: Member, who: str
) -> None:
    assert everyone[who].get(page_of(keeper)).status_code == 404
    assert everyone[who].post(page_of(keeper), {"left_on": "2026-03-16"}).status_code == 404
    keeper.refresh_from_db()
    assert keeper.left_on is None


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], keeper: Member) -> None:
    response = everyone["anonymous"].post(page_of(keeper), {"left_on": "2026-03-16"})
    assert response.url.startswith(reverse("account_login"))


def test_today_is_proposed(today: date, everyone: dict[str, Client], keeper: Member) -> None:
    assert 'value="2026-03-16"' in everyone["coordinator"].get(page_of(keeper)).content.decode()


def test_what_an_odometer_was_last_is_said_and_not_typed_in(
    today: date, everyone: dict[str, Client], keeper: Member, car: Car
) -> None:
    OdometerReadingFactory.create(car=car, read_on=date(2026, 3, 2), miles=47_000)
    form = everyone["coordinator"].get(page_of(keeper)).context["form"]
    name = f"odometer_{car.pk}"
    assert (form[name].value(), form.fields[name].lately) == (None, "47,000, 2 March")


def test_who_left_yesterday_is_signed_out_and_stays_so(
    today: date, everyone: dict[str, Client], keeper: Member
) -> None:
    mine = reverse("fleet:profile")
    assert everyone["keeper"].get(mine).status_code == 200
    everyone["coordinator"].post(page_of(keeper), {"left_on": "2026-03-15"})
    assert everyone["keeper"].get(mine).status_code == 302


def test_the_last_day_itself_still_counts(today: date, everyone: dict[str, Client], keeper: Member) -> None:
    for _ in range(2):
        everyone["coordinator"].post(page_of(keeper), {"left_on": "2026-03-16"})
    keeper.refresh_from_db()
    assert keeper.left_on == date(2026, 3, 16)
    assert everyone["keeper"].get(reverse("fleet:profile")).status_code == 200


def test_who_is_back_may_sign_in_again(today: date, everyone: dict[str, Client], keeper: Member) -> None:
    everyone["coordinator"].post(page_of(keeper), {"left_on": "2026-03-01"})
    everyone["coordinator"].post(page_of(keeper), {"back": "1"})
    keeper.refresh_from_db()
    assert keeper.left_on is None
    assert keeper.is_active


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("", "Give a day."),
        ("soon", "Write the day like 5 March 2027 or 05/03/2027."),
        ("0026-03-16", "Check the year: it must be from 1980 to 2100."),
    ],
)
def test_wrong_input_keeps_what_was_typed(everyone: dict[str, Client], keeper: Member, typed: str, why: str) -> None:
    response = everyone["coordinator"].post(page_of(keeper), {"left_on": typed})
    assert response.context["form"].errors["left_on"] == [why]
    assert response.context["form"]["left_on"].value() == typed


def test_a_last_day_before_joining_is_refused(everyone: dict[str, Client], keeper: Member) -> None:
    response = everyone["coordinator"].post(page_of(keeper), {"left_on": "2023-04-05"})
    assert response.context["form"].errors["left_on"] == [
        "Wren Applegarth joined on 6 April 2023, which is after this day."
    ]


def test_the_only_coordinator_cannot_leave(everyone: dict[str, Client], coordinator: Member) -> None:
    response = everyone["coordinator"].post(page_of(coordinator), {"left_on": "2026-03-16"})
    assert "is the only coordinator" in response.context["form"].errors["left_on"][0]
    CoordinatorFactory()
    assert everyone["coordinator"].post(page_of(coordinator), {"left_on": "2026-03-16"}).status_code == 303


# --- What becomes of the cars --------------------------------------------------------------------------------------

LAST_DAY = date(2026, 3, 13)


def leaving(car: Car, becomes: object, odometer: object = 48_000, left_on: date = LAST_DAY) -> dict[str, str]:
    """What is typed: the last day, and what becomes of the car."""
    chosen = f"member:{becomes.pk}" if isinstance(becomes, Member) else f"{becomes}"
    return {"left_on": f"{left_on}", f"becomes_{car.pk}": chosen, f"odometer_{car.pk}": f"{odometer}"}


def test_a_car_without_a_decision_keeps_the_leaving_out_of_the_book(
    today: date, everyone: dict[str, Client], keeper: Member, car: Car, colleague_car: Car
) -> None:
    response = everyone["coordinator"].post(page_of(keeper), leaving(car, "", ""))
    assert response.context["form"].errors == {f"becomes_{car.pk}": ["Say what becomes of QA51 ABC."]}
    keeper.refresh_from_db()
    assert keeper.left_on is None


@pytest.mark.parametrize("becomes", ["out_of_service", "nobody"])
def test_each_decision_needs_the_odometer(
    today: date, everyone: dict[str, Client], keeper: Member, car: Car, becomes: str
) -> None:
    response = everyone["coordinator"].post(page_of(keeper), leaving(car, becomes, ""))
    assert response.context["form"].errors == {f"odometer_{car.pk}": ["Give what QA51 ABC showed on that day."]}
    keeper.refresh_from_db()
    assert keeper.left_on is None


def test_somebody_takes_the_car_on_with_what_is_due_and_open(
    today: date, everyone: dict[str, Client], keeper: Member, colleague: Member, car: Car
) -> None:
    item = DueItemFactory.create(car=car, kind="service", due_on=date(2026, 3, 20))
    DefectFactory.create(car=car, severity="watch", description="Wiper smears")
    credential = DueItemFactory.create(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 4, 1))
    feed = CalendarFeedFactory.create(member=keeper)
    agreement = AgreementFactory.create(car=car)
    page = text_of(everyone["coordinator"].get(page_of(keeper)))
    for words in ("Wiper smears", "Service 20 March 2026", "ADI registration 1 April 2026", "calendar address stops"):
        assert words in page
    for _ in range(2):
        answer = everyone["coordinator"].post(page_of(keeper), leaving(car, colleague))
        assert answer.url == reverse("instructors:people")
    for row in (keeper, car, item, feed, agreement, credential):
        row.refresh_from_db()
    assert (keeper.left_on, car.keeper, item.car) == (LAST_DAY, colleague, car)
    assert keeperships_of(car) == [(keeper.pk, date(2024, 1, 8), LAST_DAY), (colleague.pk, date(2026, 3, 14), None)]
    assert car.odometer_readings.get().miles == 48_000
    assert feed.revoked_at is not None
    # Money and credentials are nobody else's.
    assert (agreement.member, credential.member) == (keeper, keeper)
    told = {(who, field) for who, field, *_, is_mailed in acts() if is_mailed}
    assert told == {
        *((keeper.name, field) for field in ("left_on", "keeper", "handed_over_on", "reading:2026-03-13")),
        *((colleague.name, field) for field in ("keeper", "handed_over_on", "defects_open", "items_pressing")),
    }
    # One mail to each.
    assert ActMail.objects.count() == 2
    [pressing] = [now for _, field, _, now, _ in acts() if field == "items_pressing"]
    assert "Service: 20 March 2026, in 4 days" in pressing


def test_the_car_leaves_the_book_on_the_last_day(
    today: date, everyone: dict[str, Client], keeper: Member, car: Car
) -> None:
    everyone["coordinator"].post(page_of(keeper), leaving(car, "out_of_service"))
    car.refresh_from_db()
    assert (car.in_service_to, car.odometer_readings.get().read_on) == (LAST_DAY, LAST_DAY)
    assert "Without a keeper" not in text_of(everyone["coordinator"].get(reverse("fleet:car-list")))


def test_a_car_that_nobody_keeps_is_shown_to_coordinators_until_somebody_does(
    today: date, everyone: dict[str, Client], keeper: Member, colleague: Member, car: Car
) -> None:
    everyone["coordinator"].post(page_of(keeper), leaving(car, "nobody"))
    assert keeperships_of(car) == [(keeper.pk, date(2024, 1, 8), LAST_DAY)]
    board = text_of(everyone["coordinator"].get(reverse("fleet:car-list")))
    assert "QA51 ABC Nobody has kept it since 13 March 2026. Wren Applegarth had it last." in board
    assert "nobody since 13 March 2026; Wren Applegarth had it last" in text_of(
        everyone["coordinator"].get(reverse("fleet:car", args=["QA51ABC"]))
    )
    hand_over = reverse("fleet:car-hand-over", args=["QA51ABC"])
    assert "Nobody keeps it now. Wren Applegarth had it last." in text_of(everyone["coordinator"].get(hand_over))
    everyone["coordinator"].post(hand_over, {"keeper": colleague.pk, "on": "2026-03-15", "odometer": "48000"})
    assert keeperships_of(car)[-1] == (colleague.pk, date(2026, 3, 16), None)
    assert "Without a keeper" not in text_of(everyone["coordinator"].get(reverse("fleet:car-list")))


def test_a_last_day_to_come_is_recorded_and_its_cars_stand_on_the_board(
    today: date, everyone: dict[str, Client], keeper: Member, colleague: Member, car: Car
) -> None:
    ahead = date(2026, 4, 30)
    response = everyone["coordinator"].post(page_of(keeper), leaving(car, colleague, left_on=ahead))
    assert "30 April 2026 has not come yet: decide it then." in response.context["form"].errors[f"becomes_{car.pk}"][0]
    answer = everyone["coordinator"].post(page_of(keeper), leaving(car, "", left_on=ahead), follow=True)
    assert "Wren Applegarth's last day is 30 April 2026. What becomes of their car" in text_of(answer)
    keeper.refresh_from_db()
    assert keeper.left_on == ahead
    board = text_of(everyone["coordinator"].get(reverse("fleet:car-list")))
    assert "QA51 ABC Wren Applegarth leaves on 30 April 2026. Then say what becomes of it." in board
    assert "Without a keeper" not in text_of(everyone["keeper"].get(reverse("fleet:car-list")))
    with time_machine.travel(date(2026, 5, 4), tick=False):
        board = text_of(everyone["coordinator"].get(reverse("fleet:car-list")))
        assert "QA51 ABC Nobody has kept it since 30 April 2026." in board
        everyone["coordinator"].post(page_of(keeper), leaving(car, colleague, left_on=ahead))
    assert keeperships_of(car)[-1] == (colleague.pk, date(2026, 5, 1), None)


def test_what_an_action_refuses_stands_beside_the_car(
    today: date, everyone: dict[str, Client], keeper: Member, colleague: Member, car: Car
) -> None:
    OdometerReadingFactory.create(car=car, read_on=date(2026, 3, 2), miles=47_000)
    response = everyone["coordinator"].post(page_of(keeper), leaving(car, colleague, 46_999))
    assert "it cannot have shown less" in said_at(response.context["form"], f"odometer_{car.pk}")[0]
    early = leaving(car, colleague, 1, left_on=date(2023, 12, 1))
    response = everyone["coordinator"].post(page_of(keeper), early)
    assert "has kept QA51 ABC since 8 January 2024" in response.context["form"].errors[f"becomes_{car.pk}"][0]
    keeper.refresh_from_db()
    assert (keeper.left_on, car.odometer_readings.count()) == (None, 1)


def test_a_car_that_is_out_of_service_by_then_asks_for_nothing(
    today: date, everyone: dict[str, Client], keeper: Member, car: Car
) -> None:
    car.in_service_to = LAST_DAY
    car.save()
    everyone["coordinator"].post(page_of(keeper), {"left_on": f"{LAST_DAY}"})
    keeper.refresh_from_db()
    assert keeper.left_on == LAST_DAY


def test_a_car_that_left_the_book_after_the_last_day_is_asked_about_and_can_be_answered(
    today: date, everyone: dict[str, Client], keeper: Member, car: Car
) -> None:
    OdometerReadingFactory.create(car=car, read_on=date(2026, 1, 30), miles=30_000)
    car.in_service_to = date(2026, 2, 20)
    car.save()
    typed = {"left_on": "2026-02-01"}
    page = everyone["coordinator"].post(page_of(keeper), typed)
    assert {one.name for one in page.context["form"].visible_fields()} == {
        "left_on",
        f"becomes_{car.pk}",
        f"odometer_{car.pk}",
    }
    typed |= {f"becomes_{car.pk}": "out_of_service", f"odometer_{car.pk}": "30010"}
    assert everyone["coordinator"].post(page_of(keeper), typed).status_code == 303
    keeper.refresh_from_db()
    car.refresh_from_db()
    assert (keeper.left_on, car.in_service_to) == (date(2026, 2, 1), date(2026, 2, 1))
