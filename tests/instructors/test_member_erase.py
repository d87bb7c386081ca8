"""The page /people/7/erase/: a coordinator erases a former member, who asked for it."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from instructors.actions import record_leaving, record_return
from instructors.erasure import WAIT, earliest
from instructors.models import Act, ActMail, Member
from instructors.notification import deliver_act_mail
from tests.costing.pages import text_of
from tests.instructors.test_session_list import PC, signed_in_on
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
TODAY = date(2026, 3, 16)
NOON = datetime(2026, 3, 16, 12, tzinfo=UTC)


@pytest.fixture
def everyone(keeper: Member, colleague: Member, coordinator: Member, stranger: Member) -> dict[str, Client]:
    """The cast, each of whom has just signed in."""
    cast = {"keeper": keeper, "colleague": colleague, "coordinator": coordinator, "stranger": stranger}
    return {name: signed_in_on(member, PC) for name, member in cast.items()} | {"anonymous": Client()}


@pytest.fixture
def gone(stranger: Member) -> Member:
    """A member whose last day was 28 days ago."""
    Member.objects.filter(pk=stranger.pk).update(left_on=TODAY - timedelta(days=28))
    stranger.refresh_from_db()
    return stranger


def page_of(member: Member) -> str:
    return reverse("instructors:member-erase", args=[member.pk])


def erased(client: Client, member: Member) -> Any:
    return client.post(page_of(member), {"typed": member.name})


def test_it_is_for_coordinators(everyone: dict[str, Client], gone: Member) -> None:
    for who in ("keeper", "colleague"):
        assert everyone[who].get(page_of(gone)).status_code == 404
        assert erased(everyone[who], gone).status_code == 404
    gone.refresh_from_db()
    assert not gone.erased_at


def test_a_former_member_is_erased_and_on_no_page_of_people_any_more(everyone: dict[str, Client], gone: Member) -> None:
    change = reverse("instructors:member-change", args=[gone.pk])
    assert page_of(gone) in everyone["coordinator"].get(change).content.decode()
    assert "It can be done from 16 March 2026 on" in text_of(everyone["coordinator"].get(page_of(gone)))
    assert erased(everyone["coordinator"], gone).status_code == 303
    people = text_of(everyone["coordinator"].get(reverse("instructors:people")))
    assert gone.name not in people
    assert "former member" not in people.lower()
    for address in (change, page_of(gone), reverse("fleet:member-leave", args=[gone.pk])):
        assert everyone["coordinator"].get(address).status_code == 404
    act = Act.objects.get(field="erased")
    assert (act.about, act.was, act.now) == ("A former member", "", "")


def test_nobody_who_has_not_left_is_erased(everyone: dict[str, Client], keeper: Member) -> None:
    assert 'name="typed"' not in everyone["coordinator"].get(page_of(keeper)).content.decode()
    assert "has not left" in text_of(erased(everyone["coordinator"], keeper))
    keeper.refresh_from_db()
    assert not keeper.erased_at


def leave(by: Member, member: Member, left_on: date) -> None:
    record_leaving(by=by, member=member, left_on=left_on)
    member.refresh_from_db()


def test_there_are_28_days_to_object_from_when_they_were_told(
    everyone: dict[str, Client], stranger: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    """A coordinator could else record a last day far back, and erase whomever they like."""
    leave(coordinator, stranger, TODAY - timedelta(days=300))
    assert "is not told of the last day yet" in text_of(erased(everyone["coordinator"], stranger))
    assert "28 days after the e-mail about it" in text_of(everyone["coordinator"].get(page_of(stranger)))
    with time_machine.travel(NOON + timedelta(days=3), tick=False):
        deliver_act_mail(ActMail.objects.get().pk)
    assert earliest(stranger) == date(2026, 4, 16)
    assert "This can be done from 16 April 2026 on" in text_of(erased(everyone["coordinator"], stranger))
    stranger.refresh_from_db()
    assert not stranger.erased_at


def test_an_address_that_is_no_more_keeps_nobody_from_being_erased(
    stranger: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    smtp_server.refusing = True
    leave(coordinator, stranger, TODAY - timedelta(days=1))
    assert not deliver_act_mail(ActMail.objects.get().pk)
    assert earliest(stranger) == date(2026, 4, 13)


def test_a_last_day_that_is_put_right_does_not_begin_them_anew(
    stranger: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    leave(coordinator, stranger, TODAY - timedelta(days=5))
    deliver_act_mail(ActMail.objects.get().pk)
    for days in (10, 20):
        with time_machine.travel(NOON + timedelta(days=days), tick=False):
            leave(coordinator, stranger, TODAY - timedelta(days=days))
            deliver_act_mail(ActMail.objects.latest("pk").pk)
            assert earliest(stranger) == date(2026, 4, 13)


@pytest.mark.parametrize("between", [None, TODAY + timedelta(days=900)])
def test_whoever_came_back_meanwhile_has_them_anew(
    stranger: Member, coordinator: Member, smtp_server: MailServer, between: date | None
) -> None:
    """Also with a last day that has not come: they could be put out and erased on one day."""
    leave(coordinator, stranger, TODAY - timedelta(days=5))
    deliver_act_mail(ActMail.objects.get().pk)
    if between:
        leave(coordinator, stranger, between)
    else:
        record_return(by=coordinator, member=stranger)
    deliver_act_mail(ActMail.objects.latest("pk").pk)
    with time_machine.travel(NOON + timedelta(days=40), tick=False):
        leave(coordinator, stranger, TODAY)
        deliver_act_mail(ActMail.objects.latest("pk").pk)
    assert earliest(stranger) == TODAY + timedelta(days=40) + WAIT


def test_whoever_recorded_it_themselves_knows(colleague: Member, coordinator: Member) -> None:
    Member.objects.filter(pk=colleague.pk).update(role="coordinator")
    colleague.refresh_from_db()
    leave(colleague, colleague, TODAY - timedelta(days=1))
    assert earliest(colleague) == date(2026, 4, 13)
