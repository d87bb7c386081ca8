"""The page on which a coordinator hands a car on."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from fleet.actions import close_defect, reassess_defect, report_defect, take_in_hand
from fleet.models import Car, ReminderMail
from fleet.queries import keeperships_of
from fleet.reminders import DeliveryResult, deliver_mail
from instructors.models import ActMail, Member
from tests.asked import said_at
from tests.costing.pages import text_of
from tests.factories import CostEntryFactory, MemberFactory, OdometerReadingFactory
from tests.fleet.defects import done
from tests.fleet.keepers import acts, pass_on
from tests.fleet.reminding import TODAY, both_parts
from tests.mailserver import MailServer

HAND_ON = reverse("fleet:car-hand-over", args=["QA51ABC"])
TYPED = {"on": "2026-03-16", "odometer": "41200"}

pytestmark = pytest.mark.usefixtures("today")


def test_a_coordinator_hands_a_car_on(
    everyone: dict[str, Client], car: Car, colleague: Member, coordinator: Member
) -> None:
    assert HAND_ON in everyone["coordinator"].get(reverse("fleet:car", args=["QA51ABC"])).content.decode()
    response = everyone["coordinator"].post(HAND_ON, TYPED | {"keeper": str(colleague.pk)})
    assert response.url == reverse("fleet:car", args=["QA51ABC"])
    car.refresh_from_db()
    assert car.keeper == colleague
    assert car.history.first().history_user == coordinator


def test_what_was_logged_stays_with_whoever_logged_it(
    everyone: dict[str, Client], car: Car, keeper: Member, colleague: Member
) -> None:
    cost = CostEntryFactory(car=car)
    everyone["coordinator"].post(HAND_ON, TYPED | {"keeper": str(colleague.pk)})
    cost.refresh_from_db()
    assert cost.member == keeper
    address = reverse("costing:entry-correct", args=["cost", cost.pk])
    assert everyone["keeper"].get(address).status_code == 200
    assert everyone["colleague"].get(address).status_code == 404


def test_the_new_keeper_is_mailed_what_keeps_it_off_the_road(
    everyone: dict[str, Client], car: Car, keeper: Member, colleague: Member, smtp_server: MailServer
) -> None:
    grown, _ = report_defect(by=keeper, car=car, ref="1", severity="watch", description="Pedal soft", found_on=TODAY)
    reassess_defect(by=keeper, defect=grown, severity="dangerous", words="Sinks to the floor")
    take_in_hand(by=keeper, defect=grown, words="Towed away")
    mended, _ = report_defect(
        by=keeper, car=car, ref="2", severity="dangerous", description="Seat loose", found_on=TODAY
    )
    close_defect(by=keeper, defect=mended, **done(words="Bolted", picture=b"jpeg"))
    report_defect(by=keeper, car=car, ref="3", severity="watch", description="Chip in the glass", found_on=TODAY)
    for _ in range(2):
        everyone["coordinator"].post(HAND_ON, TYPED | {"keeper": str(colleague.pk)})
    [mail] = ReminderMail.objects.filter(recipient=colleague)
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.SENT
    [message] = smtp_server.messages
    assert (message["To"], message["Subject"]) == (colleague.email, "Do not use QA51 ABC: Pedal soft")
    assert all("set how serious it is on 16 March 2026: Sinks to the floor" in text for text in both_parts(message))


def test_sent_twice_it_changes_once(car: Car, colleague: Member, coordinator: Member) -> None:
    for _ in range(2):
        pass_on(car, colleague, coordinator)
    assert car.history.filter(history_type="~").count() == 1


@pytest.mark.parametrize("chosen", ["", "999999"])
def test_nobody_and_no_member_are_refused(everyone: dict[str, Client], car: Car, keeper: Member, chosen: str) -> None:
    response = everyone["coordinator"].post(HAND_ON, TYPED | {"keeper": chosen})
    assert 'id="id_keeper_error"' in response.content.decode()
    assert "Not saved yet" in text_of(response)
    car.refresh_from_db()
    assert car.keeper == keeper


def test_nobody_who_has_left_gets_a_car(everyone: dict[str, Client], car: Car, coordinator: Member) -> None:
    left = MemberFactory(left_on=date(2026, 3, 1))
    assert left.name not in text_of(everyone["coordinator"].get(HAND_ON))
    with pytest.raises(ValidationError) as refusal:
        pass_on(car, left, coordinator)
    assert "keeper" in refusal.value.message_dict


@pytest.mark.parametrize("who", ["keeper", "colleague", "stranger"])
def test_no_member_does(everyone: dict[str, Client], car: Car, keeper: Member, colleague: Member, who: str) -> None:
    assert everyone[who].get(HAND_ON).status_code == 404
    assert everyone[who].post(HAND_ON, TYPED | {"keeper": str(colleague.pk)}).status_code == 404
    with pytest.raises(PermissionError):
        pass_on(car, colleague, keeper)
    car.refresh_from_db()
    assert car.keeper == keeper


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["anonymous"].get(HAND_ON).url.startswith(reverse("account_login"))


def test_the_page_says_who_is_told_and_both_keepers_are(
    everyone: dict[str, Client], car: Car, keeper: Member, colleague: Member
) -> None:
    page = text_of(everyone["coordinator"].get(HAND_ON))
    assert "Wren Applegarth is told by e-mail. So is the new keeper." in page
    for _ in range(2):
        everyone["coordinator"].post(HAND_ON, TYPED | {"keeper": str(colleague.pk)})
    was, now = f"member:{keeper.pk}", f"member:{colleague.pk}"
    assert acts(field="keeper") == [(member.name, "keeper", was, now, True) for member in (keeper, colleague)]
    [mail, other] = ActMail.objects.all()
    assert {mail.recipient, other.recipient} == {keeper, colleague}


def test_a_coordinator_who_takes_a_car_over_tells_its_keeper_and_not_themself(
    everyone: dict[str, Client], car: Car, coordinator: Member
) -> None:
    everyone["coordinator"].post(HAND_ON, TYPED | {"keeper": str(coordinator.pk)})
    told = acts()
    assert {(who, is_mailed) for who, *_, is_mailed in told} == {("Wren Applegarth", True)}
    assert [field for _, field, *_ in told] == ["reading:2026-03-16", "keeper", "handed_over_on"]


def test_the_day_is_the_former_keepers_and_its_odometer_is_in_the_book(
    everyone: dict[str, Client], car: Car, keeper: Member, colleague: Member
) -> None:
    everyone["coordinator"].post(HAND_ON, TYPED | {"keeper": str(colleague.pk), "on": "2026-03-10"})
    assert keeperships_of(car) == [
        (keeper.pk, date(2024, 1, 8), date(2026, 3, 10)),
        (colleague.pk, date(2026, 3, 11), None),
    ]
    assert list(car.odometer_readings.values_list("read_on", "miles")) == [(date(2026, 3, 10), 41_200)]


def test_the_page_proposes_today_and_says_what_the_odometer_was_last(everyone: dict[str, Client], car: Car) -> None:
    """Were it typed in already, one tap would put a reading into the book that nobody took that day."""
    OdometerReadingFactory.create(car=car, read_on=date(2026, 3, 2), miles=40_987)
    form = everyone["coordinator"].get(HAND_ON).context["form"]
    assert (form["on"].value(), form["odometer"].value()) == (TODAY, None)
    assert form.fields["odometer"].lately == "40,987, 2 March"


@pytest.mark.parametrize(
    ("typed", "field", "refusal"),
    [
        ({"on": "2026-03-17"}, "on", "17 March 2026 has not come yet: today is 16 March 2026."),
        (
            {"on": "2024-01-07", "odometer": "21,000"},
            "on",
            "Wren Applegarth has kept QA51 ABC since 8 January 2024: give that",
        ),
        ({"odometer": ""}, "odometer", "Fill this in."),
        ({"odometer": "21399"}, "odometer", "On 8 January 2024 it showed 21,400 miles"),
        ({"on": ""}, "on", "Give a day."),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    everyone: dict[str, Client],
    car: Car,
    keeper: Member,
    colleague: Member,
    typed: dict[str, str],
    field: str,
    refusal: str,
) -> None:
    OdometerReadingFactory.create(car=car)
    response = everyone["coordinator"].post(HAND_ON, TYPED | {"keeper": str(colleague.pk)} | typed)
    assert refusal in said_at(response.context["form"], field)[0]
    assert keeperships_of(car) == [(keeper.pk, None, None)]
