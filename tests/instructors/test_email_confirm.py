"""The page /account/email/confirm/: showing that the new address is one's own."""

import pytest
import time_machine
from allauth.account.models import EmailAddress
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from instructors.models import Act, Member
from instructors.signing_in.actions import change_address
from tests.costing.pages import text_of
from tests.factories import MemberFactory
from tests.flows.test_signing_in import HOME, LOGIN, REQUEST_CODE, body_of, code_in
from tests.instructors.test_email_change import CHANGE, CONFIRM, NEW
from tests.instructors.test_session_list import PASSWORD, PC, signed_in_on
from tests.mailserver import MailServer

OLD = "keeper@book.example"


@pytest.fixture
def waiting(keeper: Member, smtp_server: MailServer) -> Client:
    """A browser in which the keeper has asked for a new address."""
    client = signed_in_on(keeper, PC)
    client.post(CHANGE, {"email": NEW})
    return client


def test_the_code_changes_the_address_and_both_are_told(
    waiting: Client, keeper: Member, smtp_server: MailServer
) -> None:
    page = waiting.post(CONFIRM, {"code": code_in(smtp_server.wait_for(1)[0])}, follow=True)
    assert f"From now on you sign in with {NEW}." in text_of(page)
    keeper.refresh_from_db()
    assert keeper.email == NEW
    told = {mail["To"]: " ".join(body_of(mail).split()) for mail in smtp_server.wait_for(3)[1:]}
    assert set(told) == {OLD, NEW}
    assert "no longer this one" in told[OLD]
    assert "on a computer" in told[OLD]
    # Whoever reads the old one's mail from now on learns nothing.
    assert NEW not in told[OLD]
    assert "http" not in told[OLD]
    assert waiting.get(HOME).status_code == 200
    act = Act.objects.get(concerns=keeper, field="email_changed")
    assert (act.by, act.was, act.now, act.mail) == (keeper, OLD, NEW, None)
    assert f"Your e-mail address It was {OLD} and is now {NEW}." in text_of(waiting.get(reverse("instructors:record")))


def test_the_old_address_opens_nothing_any_more(waiting: Client, keeper: Member, smtp_server: MailServer) -> None:
    """allauth keeps its own list of addresses, and signs in whoever has one of them."""
    code = code_in(smtp_server.wait_for(1)[0])
    EmailAddress.objects.create(user=keeper, email=OLD, verified=True, primary=True)
    waiting.post(CONFIRM, {"code": code})
    sent = len(smtp_server.all_sent())
    Client().post(REQUEST_CODE, {"email": OLD})
    Client().post(reverse("account_reset_password"), {"email": OLD})
    assert len(smtp_server.all_sent()) == sent
    assert Client().post(LOGIN, {"login": OLD, "password": PASSWORD}).status_code == 200
    assert Client().post(LOGIN, {"login": NEW, "password": PASSWORD}).status_code == 302


def test_a_wrong_code_changes_nothing_and_after_five_none_does(
    waiting: Client, keeper: Member, smtp_server: MailServer
) -> None:
    for _ in range(5):
        assert "That is not the code." in text_of(waiting.post(CONFIRM, {"code": "BCDF-GHJK"}))
    waiting.post(CONFIRM, {"code": code_in(smtp_server.wait_for(1)[0])})
    keeper.refresh_from_db()
    assert keeper.email == OLD


def test_the_code_is_good_for_half_an_hour(keeper: Member, smtp_server: MailServer) -> None:
    with time_machine.travel(timezone.now(), tick=False) as clock:
        client = signed_in_on(keeper, PC)
        client.post(CHANGE, {"email": NEW})
        clock.shift(31 * 60)
        client.post(reverse("account_reauthenticate"), {"password": PASSWORD})
        assert client.post(CONFIRM, {"code": code_in(smtp_server.wait_for(1)[0])}).url == CHANGE


def test_without_asking_first_there_is_nothing_to_confirm(keeper: Member) -> None:
    assert signed_in_on(keeper, PC).get(CONFIRM).url == CHANGE


def test_an_address_that_became_anothers_meanwhile_is_refused(
    waiting: Client, keeper: Member, smtp_server: MailServer
) -> None:
    MemberFactory(email=NEW)
    page = waiting.post(CONFIRM, {"code": code_in(smtp_server.wait_for(1)[0])})
    assert "somebody in the co-op has it" in text_of(page)
    keeper.refresh_from_db()
    assert keeper.email == OLD


def test_an_address_is_kept_small_and_nobody_elses(keeper: Member, colleague: Member) -> None:
    assert change_address(by=keeper, email=" Wren@Elsewhere.Example ") == OLD
    assert Member.objects.get(pk=keeper.pk).email == NEW
    with pytest.raises(ValidationError):
        change_address(by=colleague, email=NEW.upper())
