"""The address in the mail that switches the word about logging off, without signing in."""

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from fleet.reminders import run_reminders
from fleet.reminders.nudges import off_address
from instructors.models import Member
from tests.conftest import TODAY
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("today", "in_order")]


@pytest.fixture
def willing(car: Car) -> Member:
    """The car's keeper, who has the word switched on."""
    Member.objects.filter(pk=car.keeper_id).update(wants_log_mail=True)
    car.keeper.refresh_from_db()
    return car.keeper


def path_of(member: Member) -> str:
    return "/" + off_address(member).split("/", 3)[3]


def test_the_page_has_one_key_and_opening_it_changes_nothing(willing: Member) -> None:
    response = Client().get(path_of(willing))
    page = response.content.decode()
    assert page.count("<button") == 1
    assert "Switch it off" in page
    assert willing.name not in page
    willing.refresh_from_db()
    assert willing.wants_log_mail


def test_one_tap_from_the_mail_ends_it_for_good(willing: Member, smtp_server: MailServer) -> None:
    run_reminders(TODAY)
    [message] = smtp_server.messages
    address = message["List-Unsubscribe"].strip("<>\r\n ").replace("\r\n ", "")
    # As a mail program sends it: without a cookie, a token or the page.
    client = Client(enforce_csrf_checks=True)
    response = client.post("/" + address.split("/", 3)[3], {"List-Unsubscribe": "One-Click"})
    assert response.status_code == 200
    assert "It is switched off." in response.content.decode()
    willing.refresh_from_db()
    assert not willing.wants_log_mail
    assert "It is switched off." in client.get(path_of(willing)).content.decode()


def test_whoever_is_signed_in_switches_off_the_word_of_the_address_alone(
    willing: Member, everyone: dict[str, Client], coordinator: Member
) -> None:
    Member.objects.update(wants_log_mail=True)
    everyone["coordinator"].post(path_of(willing))
    unwilling = Member.objects.filter(wants_log_mail=False)
    assert [member.pk for member in unwilling] == [willing.pk]


@pytest.mark.parametrize("token", ["1", "1:x", "x", "999999:abc"])
def test_an_address_that_the_book_never_gave_out_leads_nowhere(willing: Member, token: str) -> None:
    for ask in (Client().get, Client().post):
        assert ask(reverse("fleet:log-mail-off", args=[token])).status_code == 404
    willing.refresh_from_db()
    assert willing.wants_log_mail
