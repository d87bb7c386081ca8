"""The page /me/calendar/: secret addresses for one's calendar, made, shown once, and stopped."""

import re
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from fleet.actions import open_feed
from fleet.models import CalendarFeed, FeedScope
from instructors.models import Member
from instructors.queries import token_digest
from tests.factories import CalendarFeedFactory

pytestmark = pytest.mark.usefixtures("today")

FEEDS = reverse("fleet:calendar-feeds")


def token_on(response: Any) -> str:
    """The secret in the address that the page shows."""
    found = re.search(r'value="http[^"]+/calendar/([^"]+)\.ics"', response.content.decode())
    return found[1] if found else ""


def feed(token: str) -> str:
    return reverse("fleet:calendar-feed", args=[token])


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(FEEDS).url.startswith(reverse("account_login"))
    assert everyone["anonymous"].post(FEEDS, {"scope": "own"}).url.startswith(reverse("account_login"))
    assert not CalendarFeed.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "colleague", "stranger", "coordinator"])
def test_everybody_may_have_their_own_and_only_a_coordinator_the_groups(everyone: dict[str, Client], who: str) -> None:
    is_coordinator = who == "coordinator"
    assert ("The whole group" in everyone[who].get(FEEDS).content.decode()) == is_coordinator
    assert everyone[who].post(FEEDS, {"scope": "own"}).status_code == 200
    assert everyone[who].post(FEEDS, {"scope": "group"}).status_code == (200 if is_coordinator else 404)
    assert CalendarFeed.objects.count() == (2 if is_coordinator else 1)


@pytest.mark.parametrize("scope", ["", "all", "OWN"])
def test_no_other_scope_is_there(everyone: dict[str, Client], scope: str) -> None:
    assert everyone["coordinator"].post(FEEDS, {"scope": scope}).status_code == 404
    assert not CalendarFeed.objects.exists()


def test_the_address_is_shown_once_and_only_its_digest_is_kept(everyone: dict[str, Client], keeper: Member) -> None:
    response = everyone["keeper"].post(FEEDS, {"scope": "own"})
    token = token_on(response)
    assert len(token) >= 43  # 32 random bytes
    kept = CalendarFeed.objects.get()
    assert (kept.member, kept.scope, kept.token_digest) == (keeper, FeedScope.OWN, token_digest(token))
    assert token not in everyone["keeper"].get(FEEDS).content.decode()
    assert "no-store" in response.headers["Cache-Control"]
    assert everyone["anonymous"].get(feed(token)).status_code == 200


def test_a_new_address_stops_the_one_before(everyone: dict[str, Client]) -> None:
    first, second = (token_on(everyone["keeper"].post(FEEDS, {"scope": "own"})) for _ in range(2))
    assert first != second
    assert everyone["anonymous"].get(feed(first)).status_code == 404
    assert everyone["anonymous"].get(feed(second)).status_code == 200


def test_the_two_scopes_have_addresses_of_their_own(everyone: dict[str, Client]) -> None:
    tokens = [token_on(everyone["coordinator"].post(FEEDS, {"scope": scope})) for scope in ("own", "group")]
    assert [everyone["anonymous"].get(feed(token)).status_code for token in tokens] == [200, 200]


def test_a_stopped_address_is_dead_and_may_be_stopped_again(everyone: dict[str, Client]) -> None:
    token = token_on(everyone["keeper"].post(FEEDS, {"scope": "own"}))
    revoke = reverse("fleet:calendar-feed-revoke", args=[CalendarFeed.objects.get().pk])
    assert revoke in everyone["keeper"].get(FEEDS).content.decode()
    assert everyone["keeper"].post(revoke).url == FEEDS
    revoked_at = CalendarFeed.objects.get().revoked_at
    assert revoked_at
    assert everyone["anonymous"].get(feed(token)).status_code == 404
    assert "No address is in use" in everyone["keeper"].get(FEEDS).content.decode()
    assert everyone["keeper"].post(revoke).status_code == 303
    assert CalendarFeed.objects.get().revoked_at == revoked_at


def test_after_a_stop_a_new_one_may_be_made(everyone: dict[str, Client], keeper: Member) -> None:
    CalendarFeedFactory(member=keeper, revoked_at="2026-02-01T09:00:00Z")
    token = token_on(everyone["keeper"].post(FEEDS, {"scope": "own"}))
    assert everyone["anonymous"].get(feed(token)).status_code == 200
    assert CalendarFeed.objects.count() == 2


@pytest.mark.parametrize("who", ["colleague", "stranger", "coordinator"])
def test_nobody_stops_another_members_address(everyone: dict[str, Client], keeper: Member, who: str) -> None:
    theirs = CalendarFeedFactory(member=keeper)
    assert everyone[who].post(reverse("fleet:calendar-feed-revoke", args=[theirs.pk])).status_code == 404
    theirs.refresh_from_db()
    assert theirs.revoked_at is None


def test_following_a_link_stops_nothing(everyone: dict[str, Client], keeper: Member) -> None:
    theirs = CalendarFeedFactory(member=keeper)
    assert everyone["keeper"].get(reverse("fleet:calendar-feed-revoke", args=[theirs.pk])).status_code == 405


def test_a_former_coordinator_is_no_longer_shown_the_groups(everyone: dict[str, Client], coordinator: Member) -> None:
    CalendarFeedFactory(member=coordinator, scope=FeedScope.GROUP)
    coordinator.role = "member"
    coordinator.save()
    assert "The whole group" not in everyone["coordinator"].get(FEEDS).content.decode()


def test_the_action_itself_refuses_a_member_the_groups(keeper: Member) -> None:
    with pytest.raises(ValidationError) as refusal:
        open_feed(by=keeper, scope=FeedScope.GROUP)
    assert set(refusal.value.message_dict) == {"scope"}
