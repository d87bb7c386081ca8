"""What one does oneself stands in one's own record: signing in, passwords, joining, calendars, downloads."""

import re
from collections.abc import Callable
from datetime import UTC, datetime

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from fleet.actions import note_feed_reads, open_feed, revoke_feed
from instructors.actions import accept_invitation
from instructors.models import Act, Member
from instructors.signing_in.devices import device_words
from tests.addresses import taken
from tests.factories import InvitationFactory
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
PASSWORD = "a long enough phrase 7"  # noqa: S105 - of a made-up member
COMPUTER = "Mozilla/5.0 (X11; x86_64; rv:136.0)"


def own_acts(member: Member) -> list[tuple[str, str, bool]]:
    """Field and words of each act of a member's record, oldest first, and whether it was their own; none is mailed."""
    found = Act.objects.filter(concerns=member).order_by("pk")
    assert not any(act.mail_id for act in found)
    return [(act.field, act.now, act.by_id == member.pk) for act in found]


@pytest.fixture
def member(keeper: Member) -> Member:
    keeper.set_password(PASSWORD)
    keeper.save()
    return keeper


def test_signing_in_by_password_is_written_down_with_the_way_and_the_browser(client: Client, member: Member) -> None:
    client.post(
        reverse("account_login"), {"login": member.email, "password": "wrong"}, headers={"User-Agent": COMPUTER}
    )
    assert own_acts(member) == []
    client.post(
        reverse("account_login"), {"login": member.email, "password": PASSWORD}, headers={"User-Agent": COMPUTER}
    )
    assert own_acts(member) == [("signed_in", "With a password, on a computer", True)]


def test_signing_in_by_code_is_written_down(client: Client, member: Member, smtp_server: MailServer) -> None:
    client.post(reverse("account_request_login_code"), {"email": member.email})
    found = re.search(r"^\s*([A-Z0-9-]{6,})\s*$", smtp_server.wait_for(1)[0].get_content(), re.MULTILINE)
    assert found
    client.post(reverse("account_confirm_login_code"), {"code": found[1]})
    assert own_acts(member) == [("signed_in", "With an e-mailed code, from an unknown program", True)]


def test_a_new_password_is_written_down(client_of: Callable[[Member], Client], member: Member) -> None:
    typed = {
        "oldpassword": PASSWORD,
        "password1": "another fairly long one 8",
        "password2": "another fairly long one 8",
    }
    client_of(member).post(reverse("account_change_password"), typed)
    assert [field for field, *_ in own_acts(member)] == ["password_changed"]


def test_joining_by_an_invitation_is_written_down() -> None:
    invitation = InvitationFactory(expires_at="2999-01-01T09:00Z")
    member = accept_invitation(invitation=invitation, name="New", password="seven wet kerbstones")  # noqa: S106
    assert own_acts(member) == [("joined", "", False)]


def test_a_download_is_written_down(everyone: dict[str, Client], keeper: Member) -> None:
    taken(everyone["keeper"].post(reverse("costing:export")))
    assert own_acts(keeper) == [("exported", "", True)]


def test_a_calendar_address_made_and_stopped_is_written_down_once(keeper: Member) -> None:
    feed, _ = open_feed(by=keeper, scope="own")
    for _ in range(2):
        revoke_feed(by=keeper, feed=feed)
    assert own_acts(keeper) == [("feed_opened", "My own", True), ("feed_revoked", "My own", True)]


def test_a_calendar_is_noted_as_read_once_a_day(client: Client, keeper: Member) -> None:
    _, token = open_feed(by=keeper, scope="own")
    address = reverse("fleet:calendar-feed", args=[token])
    for at in (datetime(2026, 3, 16, 12, tzinfo=UTC), datetime(2026, 3, 17, 0, 5, tzinfo=UTC)):
        with time_machine.travel(at, tick=False):
            for _ in range(2):
                assert client.get(address).status_code == 200
                note_feed_reads()
    assert own_acts(keeper)[1:] == [("feed_read", "My own", False)] * 2


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (COMPUTER, "on a computer"),
        ("Mozilla/5.0 (Phone; like a computer) Version/18.3 Mobile/15E148", "on a phone or tablet"),
        ("Mozilla/5.0 (Tablet; rv:136.0)", "on a phone or tablet"),
        ("<script>alert(1)</script>", "from an unknown program"),
        ("", "from an unknown program"),
    ],
)
def test_a_browser_is_named_coarsely(said: str, words: str) -> None:
    assert device_words(said) == words
