"""The page /account/sessions/: where a member is signed in."""

from django.test import Client
from django.urls import reverse

from instructors.models import Member
from instructors.queries import sessions_of

SESSIONS = reverse("instructors:session-list")
PHONE, PC = "Mozilla/5.0 (Mobile; rv:136.0)", "Mozilla/5.0 (X11; x86_64; rv:136.0)"
PASSWORD = "a long enough phrase 7"  # noqa: S105 - of a made-up member


def signed_in_on(member: Member, user_agent: str) -> Client:
    """A browser in which a member has just signed in by password."""
    member.set_password(PASSWORD) if not member.has_usable_password() else None
    member.save()
    client = Client(HTTP_USER_AGENT=user_agent)
    client.post(reverse("account_login"), {"login": member.email, "password": PASSWORD})
    return client


def test_everybody_sees_where_they_are_signed_in_themselves(
    keeper: Member, colleague: Member, coordinator: Member, stranger: Member
) -> None:
    clients = [signed_in_on(member, PC) for member in (keeper, colleague, coordinator, stranger)]
    for client in clients:
        rows = client.get(SESSIONS).context["sessions"]
        assert [row["is_this_one"] for row in rows] == [True]


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(SESSIONS).url.startswith(reverse("account_login"))


def test_each_is_told_by_what_it_runs_on_this_one_first(keeper: Member) -> None:
    signed_in_on(keeper, PHONE)
    page = signed_in_on(keeper, PC).get(SESSIONS)
    assert [row["words"] for row in page.context["sessions"]] == ["on a computer", "on a phone or tablet"]
    assert "Last seen" in page.content.decode()


def test_one_that_was_signed_out_is_gone(keeper: Member) -> None:
    signed_in_on(keeper, PHONE).post(reverse("account_logout"))
    signed_in_on(keeper, PC)
    assert len(sessions_of(keeper)) == 1


def test_a_changed_password_signs_out_everywhere_else(keeper: Member) -> None:
    phone, pc = signed_in_on(keeper, PHONE), signed_in_on(keeper, PC)
    new = "another fairly long one 8"
    pc.post(
        reverse("account_change_password"), {"oldpassword": PASSWORD, "password1": new, "password2": new}, follow=True
    )
    assert phone.get(SESSIONS).status_code == 302
    assert len(pc.get(SESSIONS).context["sessions"]) == 1


def test_reading_pages_writes_no_more_than_one_note_in_a_quarter_of_an_hour(keeper: Member, client: Client) -> None:
    client.force_login(keeper)
    client.get(reverse("fleet:reminder-choices"))
    [seen] = sessions_of(keeper)
    client.get(reverse("fleet:reminder-choices"))
    assert sessions_of(keeper)[0].last_seen_at == seen.last_seen_at
