"""The page /invitation/<token>/: becoming a member."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Invitation, Member
from instructors.queries import token_digest
from tests.factories import CooperativeFactory, InvitationFactory, MemberFactory

LINK_END = "lJb0XW5xQ3Ww1vY8o2m4cZ6n8p0r2t4v6x8z0B2D4F6"
LINK = reverse("instructors:accept-invitation", args=[LINK_END])
CHOSEN = {"name": "Новий Інструктор", "password": "seven wet kerbstones"}


@pytest.fixture
def invitation(today: date, db: None) -> Invitation:
    return InvitationFactory(
        email="new@book.example", name="Novyi Instruktor", grade="PDI", token_digest=token_digest(LINK_END)
    )


def test_the_page_says_who_invites_to_what(invitation: Invitation, client: Client) -> None:
    CooperativeFactory()
    page = client.get(LINK).content.decode()
    assert f"{invitation.invited_by.name} invites you" in page
    assert "Three Valleys Tuition Co-op" in page
    assert 'value="Novyi Instruktor"' in page
    assert 'value="new@book.example"' in page


def test_opening_the_link_alone_makes_no_member(invitation: Invitation, client: Client) -> None:
    client.get(LINK)
    assert not Member.objects.filter(email="new@book.example").exists()


def test_accepting_makes_a_member_and_signs_in(invitation: Invitation, client: Client) -> None:
    response = client.post(LINK, CHOSEN)
    assert response.url == reverse("costing:home")
    member = Member.objects.get(email="new@book.example")
    assert (member.name, member.grade, member.role) == ("Новий Інструктор", "PDI", "member")
    assert member.joined_on == date(2026, 3, 16)
    assert member.check_password("seven wet kerbstones")
    assert client.get(reverse("fleet:profile")).status_code == 200
    invitation.refresh_from_db()
    assert invitation.accepted_at is not None


def test_the_new_password_signs_in_through_the_sign_in_page(invitation: Invitation, client: Client) -> None:
    client.post(LINK, CHOSEN)
    later = Client()
    later.post(reverse("account_login"), {"login": "New@Book.example", "password": CHOSEN["password"]})
    assert later.get(reverse("fleet:profile")).status_code == 200


def test_the_link_works_once(invitation: Invitation, client: Client) -> None:
    client.post(LINK, CHOSEN)
    again = Client()
    assert again.get(LINK).status_code == 410
    assert again.post(LINK, CHOSEN | {"name": "Somebody Else"}).status_code == 410
    assert Member.objects.filter(email="new@book.example").count() == 1


@pytest.mark.parametrize(
    ("change", "status"),
    [
        ({"expires_at": "2026-03-16T12:00Z"}, 410),
        ({"withdrawn_at": "2026-03-15T12:00Z"}, 410),
        ({"accepted_at": "2026-03-15T12:00Z"}, 410),
        ({"token_digest": token_digest("a newer link")}, 404),
    ],
)
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_link_that_is_over_says_so_on_one_plain_page(
    invitation: Invitation, client: Client, change: dict[str, str], status: int, method: str
) -> None:
    Invitation.objects.filter(pk=invitation.pk).update(**change)
    response = getattr(client, method)(LINK, CHOSEN)
    assert response.status_code == status
    page = response.content.decode()
    assert "This invitation cannot be used" in page
    assert invitation.name not in page
    assert not Member.objects.filter(email="new@book.example").exists()


@pytest.mark.parametrize("token", ["nobody-holds-this", "x" * 3000])
def test_an_unknown_link_is_not_found(db: None, client: Client, token: str) -> None:
    assert client.get(f"/invitation/{token}/").status_code == 404


@pytest.mark.parametrize(
    ("password", "why"),
    [("brief", "too short"), ("eleven char", "12 characters"), ("q1w2e3r4t5y6", "too common")],
)
def test_a_weak_password_is_refused_and_the_name_kept(
    invitation: Invitation, client: Client, password: str, why: str
) -> None:
    response = client.post(LINK, CHOSEN | {"password": password})
    assert response.status_code == 200
    assert why in " ".join(response.context["form"].errors["password"])
    page = response.content.decode()
    assert 'value="Новий Інструктор"' in page
    assert f'name="password" value="{password}"' not in page
    assert password not in page.partition('id="id_password"')[2]  # the page itself never repeats it
    assert not Member.objects.filter(email="new@book.example").exists()


def test_nothing_typed_is_told_beside_the_fields(invitation: Invitation, client: Client) -> None:
    assert set(client.post(LINK, {}).context["form"].errors) == {"name", "password"}


def test_an_address_that_became_a_members_meanwhile_is_told(invitation: Invitation, client: Client) -> None:
    MemberFactory(email="new@book.example")
    response = client.post(LINK, CHOSEN)
    assert "You are a member already" in response.context["form"].non_field_errors()[0]
    invitation.refresh_from_db()
    assert invitation.accepted_at is None


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("who", ["keeper", "colleague", "coordinator", "stranger"])
def test_whoever_is_signed_in_accepts_nothing_by_mistake(
    invitation: Invitation, everyone: dict[str, Client], who: str, method: str
) -> None:
    response = getattr(everyone[who], method)(LINK, CHOSEN)
    assert "You are signed in already" in response.content.decode()
    assert not Member.objects.filter(email="new@book.example").exists()


def test_the_page_is_kept_in_no_cache(invitation: Invitation, client: Client) -> None:
    assert "no-store" in client.get(LINK).headers["Cache-Control"]


def test_a_name_is_on_one_line(invitation: Invitation, client: Client) -> None:
    response = client.post(LINK, CHOSEN | {"name": "Wren\nApplegarth"})
    assert response.context["form"].errors == {"name": ["Write this on one line, without control characters."]}
    assert not Member.objects.filter(email="new@book.example").exists()
