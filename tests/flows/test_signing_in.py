"""Signing in and out: by password, by e-mailed code, with a new password; and who may not."""

import re
from datetime import date, timedelta
from email.message import EmailMessage

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from instructors.models import Member
from instructors.queries import token_digest
from tests.costing.pages import shown, text_of
from tests.factories import InvitationFactory
from tests.mailserver import MailServer
from tests.servers import Redis

PASSWORD = "a long enough phrase 7"  # noqa: S105 - of a made-up member
NEW_PASSWORD = "another fairly long one 8"  # noqa: S105
HOME, LOGIN = reverse("costing:home"), reverse("account_login")
REQUEST_CODE, CONFIRM_CODE = reverse("account_request_login_code"), reverse("account_confirm_login_code")


@pytest.fixture(autouse=True)
def _nobody_tried_before(redis_server: Redis) -> None:
    """How often each address tried is counted in the cache, which other tests share: begin with none."""


@pytest.fixture
def member(keeper: Member) -> Member:
    keeper.set_password(PASSWORD)
    keeper.save()
    return keeper


def sign_in(client: Client, email: str, password: str = PASSWORD) -> str:
    return text_of(client.post(LOGIN, {"login": email, "password": password}, follow=True))


def is_signed_in(client: Client) -> bool:
    return client.get(HOME).status_code == 200


def code_in(message: EmailMessage) -> str:
    """The code that a mail holds."""
    code = re.search(r"^[A-Z0-9-]{6,}$", body_of(message), re.MULTILINE)
    assert code, body_of(message)
    return code[0]


def body_of(message: EmailMessage) -> str:
    """The text of a mail, its lines ended as Python has it."""
    return message.get_content().replace("\r\n", "\n")


@pytest.mark.parametrize("email", ["keeper@book.example", "Keeper@Book.Example"])
def test_a_member_signs_in_by_password_and_out_again(client: Client, member: Member, email: str) -> None:
    assert "You have no car in the book" in sign_in(client, email)
    assert is_signed_in(client)
    assert "You are signed out." in text_of(client.post(reverse("account_logout"), follow=True))
    assert not is_signed_in(client)


def test_a_page_asked_for_is_come_back_to(client: Client, member: Member) -> None:
    entries = reverse("costing:entries")
    sent_to = client.get(entries).url
    response = client.post(sent_to, {"login": member.email, "password": PASSWORD, "next": entries})
    assert response.url == entries


@pytest.mark.parametrize("email", ["keeper@book.example", "nobody@book.example"])
def test_a_wrong_password_does_not_say_whether_the_address_is_known(client: Client, member: Member, email: str) -> None:
    page = sign_in(client, email, "not the password")
    assert "That e-mail address and password do not match." in page
    assert "Not signed in yet" in page
    assert "Not saved yet" not in page
    assert not is_signed_in(client)


def test_a_member_signs_in_by_a_code_that_was_mailed(client: Client, keeper: Member, smtp_server: MailServer) -> None:
    page = text_of(client.post(REQUEST_CODE, {"email": keeper.email}, follow=True))
    assert "Type in the code" in page
    [message] = smtp_server.wait_for(1)
    assert message["Subject"] == "Your code for the Tuition Car Book"
    client.post(CONFIRM_CODE, {"code": code_in(message)})
    assert is_signed_in(client)


def test_a_wrong_code_lets_nobody_in(client: Client, keeper: Member, smtp_server: MailServer) -> None:
    client.post(REQUEST_CODE, {"email": keeper.email})
    assert "Not signed in yet" in text_of(client.post(CONFIRM_CODE, {"code": "WRONGO"}))
    assert not is_signed_in(client)


def test_an_address_of_nobody_gets_the_same_page_and_no_mail(
    client: Client, keeper: Member, smtp_server: MailServer
) -> None:
    pages = [
        text_of(client.post(REQUEST_CODE, {"email": email}, follow=True)).replace(email, "ADDRESS")
        for email in (keeper.email, "nobody@book.example")
    ]
    assert "Type in the code" in pages[0]
    assert pages[0] == pages[1]
    assert [message["To"] for message in smtp_server.all_sent()] == [keeper.email]


PAGES_MEANWHILE = [LOGIN, REQUEST_CODE, reverse("account_reset_password"), reverse("account_signup")]


@pytest.mark.parametrize("address", PAGES_MEANWHILE)
def test_while_a_code_is_waited_for_every_other_page_opens(client: Client, keeper: Member, address: str) -> None:
    client.post(REQUEST_CODE, {"email": keeper.email})
    assert client.get(address).status_code == 200
    assert client.get(CONFIRM_CODE).status_code == 200


def test_while_a_code_is_waited_for_an_invitation_opens(client: Client, keeper: Member) -> None:
    client.post(REQUEST_CODE, {"email": keeper.email})
    InvitationFactory(token_digest=token_digest("a-link"), expires_at=timezone.now() + timedelta(days=1))
    link = reverse("instructors:accept-invitation", args=["a-link"])
    assert "invites you" in shown(client, link)
    client.post(link, {"name": "Somebody New", "password": PASSWORD})
    assert is_signed_in(client)


def test_the_code_page_leads_to_the_password_to_another_address_and_to_a_new_code(
    client: Client, member: Member, smtp_server: MailServer
) -> None:
    page = client.post(REQUEST_CODE, {"email": member.email}, follow=True).content.decode()
    assert f'href="{LOGIN}"' in page
    assert f'href="{REQUEST_CODE}"' in page
    first = code_in(smtp_server.wait_for(1)[0])
    assert f'name="email" value="{member.email}"' in page
    client.post(REQUEST_CODE, {"email": member.email})
    second = code_in(smtp_server.wait_for(2)[1])
    client.post(CONFIRM_CODE, {"code": first})
    assert not is_signed_in(client)
    client.post(CONFIRM_CODE, {"code": second})
    assert is_signed_in(client)


def test_the_password_signs_in_while_a_code_is_waited_for(client: Client, member: Member) -> None:
    client.post(REQUEST_CODE, {"email": member.email})
    sign_in(client, member.email)
    assert is_signed_in(client)


def test_signing_in_changes_the_name_of_the_session(client: Client, member: Member) -> None:
    client.post(REQUEST_CODE, {"email": member.email})
    before = client.session.session_key
    sign_in(client, member.email)
    assert client.session.session_key != before
    assert not Session.objects.filter(session_key=before).exists()


def test_opening_the_sign_out_page_signs_nobody_out(client: Client, member: Member) -> None:
    sign_in(client, member.email)
    client.get(reverse("account_logout"))
    assert is_signed_in(client)


def test_a_member_chooses_a_new_password_by_mail(client: Client, member: Member, smtp_server: MailServer) -> None:
    page = text_of(client.post(reverse("account_reset_password"), {"email": member.email}, follow=True))
    assert "Check your e-mail" in page
    [message] = smtp_server.wait_for(1)
    link = re.search(r"http://[^/]+(/account/password/reset/key/\S+)", body_of(message))
    assert link
    form = client.get(link[1], follow=True)
    assert "Save the new password" in text_of(form)
    done = client.post(form.redirect_chain[-1][0], {"password1": NEW_PASSWORD, "password2": NEW_PASSWORD}, follow=True)
    assert "Your password is changed" in text_of(done)
    assert "You have no car in the book" in sign_in(Client(), member.email, NEW_PASSWORD)
    assert "no longer works" in text_of(Client().get(link[1], follow=True))


def test_a_member_changes_the_password(client: Client, member: Member) -> None:
    sign_in(client, member.email)
    sent = {"oldpassword": PASSWORD, "password1": NEW_PASSWORD, "password2": NEW_PASSWORD}
    client.post(reverse("account_change_password"), sent)
    member.refresh_from_db()
    assert member.check_password(NEW_PASSWORD)


def test_a_weak_password_is_refused_with_the_reason(client: Client, member: Member) -> None:
    sign_in(client, member.email)
    sent = {"oldpassword": PASSWORD, "password1": "12345", "password2": "12345"}
    page = text_of(client.post(reverse("account_change_password"), sent))
    assert "too short" in page
    member.refresh_from_db()
    assert member.check_password(PASSWORD)


def test_a_member_without_a_password_is_asked_to_choose_one(
    client: Client, keeper: Member, smtp_server: MailServer
) -> None:
    client.post(REQUEST_CODE, {"email": keeper.email})
    client.post(CONFIRM_CODE, {"code": code_in(smtp_server.wait_for(1)[0])})
    response = client.get(reverse("account_change_password"), follow=True)
    assert "Choose a password" in text_of(response)


def test_a_member_who_has_left_is_told_so_and_not_let_in(client: Client, member: Member) -> None:
    member.left_on = date(2024, 1, 31)
    member.save()
    assert "You have left the co-op" in sign_in(client, member.email)
    assert not is_signed_in(client)


def test_nobody_signs_themselves_up(client: Client, transactional_db: None) -> None:
    signup = reverse("account_signup")
    sent = {"email": "nobody@book.example", "password1": PASSWORD, "password2": PASSWORD}
    assert "By invitation only" in shown(client, signup)
    assert "By invitation only" in text_of(client.post(signup, sent))
    assert not Member.objects.exists()


@pytest.mark.parametrize(
    "address",
    ["", "3rdparty/", "social/login/cancelled/", "confirm-email/", "confirm-email/x/", "phone/change/", "2fa/"],
)
def test_no_page_of_the_library_is_there_that_the_book_does_not_use(
    client: Client, keeper: Member, address: str
) -> None:
    client.force_login(keeper)
    assert client.get(f"/account/{address}").status_code == 404


def test_whoever_accepted_an_invitation_has_a_device_that_is_known(client: Client, db: None) -> None:
    InvitationFactory(token_digest=token_digest("a-link"), expires_at=timezone.now() + timedelta(days=1))
    link = reverse("instructors:accept-invitation", args=["a-link"])
    assert "device" in client.post(link, {"name": "Somebody New", "password": PASSWORD}).cookies


def test_whoever_is_asked_again_for_a_password_they_have_forgotten_has_a_way_on_and_back(
    client: Client, member: Member
) -> None:
    client.force_login(member)
    page = client.get(reverse("account_reauthenticate")).content.decode()
    reset = reverse("account_reset_password")
    assert f'href="{reset}">I have forgotten my password' in page
    back = rf'href="{reverse("fleet:profile")}">.*Back to my page'
    assert re.search(back, page)
    page = client.get(reset).content.decode()
    assert re.search(back, page)
    assert "Back to signing in" not in page


def test_the_summary_of_errors_calls_each_field_by_its_label(client: Client, member: Member) -> None:
    """What is said at the top of the form is found again beside the field."""
    reset = reverse("account_reset_password")
    pages = [client.post(address, {}) for address in (LOGIN, REQUEST_CODE, reset)]
    client.post(LOGIN, {"login": member.email, "password": PASSWORD})
    pages += [client.post(reverse(name), {}) for name in ("account_change_password", "mfa_activate_totp")]
    for answer in pages:
        html = answer.content.decode()
        named = dict(re.findall(r'<li><a href="#(\w+)">([^:<]+):', html))
        labels = dict(re.findall(r'<label for="(\w+)">([^<]+?)\s*<', html))
        assert named, answer.request["PATH_INFO"]
        assert named == {key: labels[key] for key in named}
        assert "Fill this in." not in html
