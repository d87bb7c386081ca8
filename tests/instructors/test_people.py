"""The page /people/: who belongs to the co-op."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from tests.factories import CarFactory, InvitationFactory, MemberFactory

PEOPLE = reverse("instructors:people")


@pytest.mark.parametrize(
    ("who", "status"),
    [("coordinator", 200), ("keeper", 404), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_only_a_coordinator_sees_the_people(everyone: dict[str, Client], who: str, status: int) -> None:
    assert everyone[who].get(PEOPLE).status_code == status


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(PEOPLE).url.startswith(reverse("account_login"))


def test_members_are_shown_with_role_grade_and_days(
    today: date, everyone: dict[str, Client], keeper: Member, coordinator: Member
) -> None:
    page = everyone["coordinator"].get(PEOPLE).content.decode()
    assert keeper.name in page
    assert keeper.email in page
    assert "<span>PDI</span>" in page  # the colleague of the cast is a trainee
    assert "Joined 6 April 2023" in page
    assert page.count("<span>ADI, coordinator") == 1


def test_each_member_stands_beside_the_cars_that_they_keep_now(today: date, everyone: dict[str, Client]) -> None:
    keeper = MemberFactory(name="Keeps Two")
    for registration in ("QA51ABC", "QA52DEF"):
        CarFactory(registration=registration, keeper=keeper)
    CarFactory(registration="QA49XYZ", keeper=keeper, in_service_to=date(2026, 3, 15))
    MemberFactory(name="Keeps None")
    response = everyone["coordinator"].get(PEOPLE)
    kept = {person.member.name: person.marks for person in response.context["members"]}
    assert kept["Keeps Two"] == ["QA51 ABC", "QA52 DEF"]
    assert kept["Keeps None"] == []
    page = response.content.decode()
    assert '<span class="mark">QA51 ABC</span>' in page
    assert "QA49 XYZ" not in page
    assert "no car" in page


def test_who_has_left_stands_apart_from_the_day_after(today: date, everyone: dict[str, Client]) -> None:
    MemberFactory(name="Left Yesterday", left_on=date(2026, 3, 15))
    MemberFactory(name="Leaves Today", left_on=date(2026, 3, 16))
    response = everyone["coordinator"].get(PEOPLE)
    assert [person.member.name for person in response.context["former_members"]] == ["Left Yesterday"]
    assert "Leaves Today" in {person.member.name for person in response.context["members"]}
    assert "Members who have left (1)" in response.content.decode()


def test_invitations_are_shown_until_accepted_or_withdrawn(today: date, everyone: dict[str, Client]) -> None:
    over = date(2026, 3, 12)
    InvitationFactory(name="Still Open")
    InvitationFactory(name="Has Accepted", accepted_at=f"{over}T09:00Z")
    InvitationFactory(name="Was Withdrawn", withdrawn_at=f"{over}T09:00Z")
    page = everyone["coordinator"].get(PEOPLE).content.decode()
    assert "Still Open" in page
    assert "The link works until 24 March 2026" in page
    assert "Has Accepted" not in page
    assert "Was Withdrawn" not in page


def test_an_invitation_past_its_days_asks_to_be_sent_again(today: date, everyone: dict[str, Client]) -> None:
    InvitationFactory(expires_at="2026-03-15T23:30Z")
    assert (
        "The link stopped working on 15 March 2026: send it again."
        in everyone["coordinator"].get(PEOPLE).content.decode()
    )


def test_days_are_british_days_in_summer_too(today: date, everyone: dict[str, Client]) -> None:
    InvitationFactory(expires_at="2026-06-01T23:30Z")
    assert "The link works until 2 June 2026" in everyone["coordinator"].get(PEOPLE).content.decode()


def test_the_number_of_queries_does_not_grow_with_the_people(
    everyone: dict[str, Client], django_assert_max_num_queries: object
) -> None:
    MemberFactory.create_batch(60)
    for _ in range(5):
        InvitationFactory(invited_by=MemberFactory())
    with django_assert_max_num_queries(9):  # type: ignore[operator]
        everyone["coordinator"].get(PEOPLE)
