"""The second step at signing in: an authenticator app, recovery codes, and who must have one."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from instructors.models import Act, Member
from instructors.signing_in.limits import TRIES_BY_CLIENT_AT_ADDRESS
from tests.costing.pages import text_of
from tests.factories import CooperativeFactory
from tests.flows.test_signing_in import CONFIRM_CODE, HOME, LOGIN, REQUEST_CODE, body_of, code_in
from tests.instructors.test_session_list import PASSWORD, PC, signed_in_on
from tests.mailserver import MailServer

Clock = Any  # of time-machine, which does not name its type

INDEX, APP, SHOW = reverse("mfa_index"), reverse("mfa_activate_totp"), reverse("mfa_authenticate")
CODES, NEW_CODES = reverse("mfa_view_recovery_codes"), reverse("mfa_generate_recovery_codes")
REMOVE_APP = reverse("mfa_deactivate_totp")
CODES_AS_FILE = reverse("mfa_download_recovery_codes")


class App:
    """An authenticator app that knows a key, and whose clock can be set forward: a code works once."""

    def __init__(self, key: str, clock: Clock) -> None:
        self.key, self.clock = key, clock

    def code(self) -> str:
        """The code of the next half minute."""
        self.clock.shift(30)
        return format_hotp_value(hotp_value(self.key, int(timezone.now().timestamp()) // 30))


@pytest.fixture
def clock() -> Iterator[Clock]:
    with time_machine.travel(timezone.now(), tick=False) as clock:
        yield clock


def set_up(client: Client, clock: Clock) -> App:
    page = client.get(APP).content.decode()
    key = re.search(r'id="authenticator_secret">(\w+)<', page)
    assert key, page
    app = App(key[1], clock)
    answer = client.post(APP, {"code": app.code()})
    assert answer.url == CODES, answer.content
    return app


@pytest.fixture
def app(keeper: Member, clock: Clock, smtp_server: MailServer) -> App:
    """The keeper's app, set up."""
    return set_up(signed_in_on(keeper, PC), clock)


def by_password(member: Member) -> Client:
    client = Client()
    client.post(LOGIN, {"login": member.email, "password": PASSWORD})
    return client


def is_signed_in(client: Client) -> bool:
    return client.get(HOME).status_code == 200


def test_the_password_alone_opens_nothing_any_more_and_the_apps_code_does(keeper: Member, app: App) -> None:
    client = by_password(keeper)
    assert not is_signed_in(client)
    assert "Second step" in text_of(client.get(SHOW))
    client.post(SHOW, {"code": "000000"})
    assert not is_signed_in(client)
    client.post(SHOW, {"code": app.code()})
    assert is_signed_in(client)


def test_a_wrong_second_step_stands_in_the_members_record(keeper: Member, app: App) -> None:
    client = by_password(keeper)
    client.post(SHOW, {"code": "000000"})
    assert Act.objects.filter(concerns=keeper, field="second_step_failed").count() == 1
    client.post(SHOW, {"code": app.code()})
    assert "Wrong code at the second step" in text_of(client.get(reverse("instructors:record")))


def test_an_e_mailed_code_asks_for_the_second_step_too(keeper: Member, app: App, smtp_server: MailServer) -> None:
    client, sent = Client(), len(smtp_server.all_sent())
    client.post(REQUEST_CODE, {"email": keeper.email})
    assert client.post(CONFIRM_CODE, {"code": code_in(smtp_server.wait_for(sent + 1)[sent])}).url == SHOW
    assert not is_signed_in(client)


def test_a_code_of_the_app_works_once(keeper: Member, app: App) -> None:
    code = app.code()
    first, second = by_password(keeper), by_password(keeper)
    first.post(SHOW, {"code": code})
    second.post(SHOW, {"code": code})
    assert (is_signed_in(first), is_signed_in(second)) == (True, False)


def test_a_recovery_code_works_once(keeper: Member, app: App) -> None:
    client = by_password(keeper)
    client.post(SHOW, {"code": app.code()})
    client.post(reverse("account_reauthenticate"), {"password": PASSWORD})
    codes = re.findall(r"<li>(\d{8})</li>", client.get(CODES).content.decode())
    assert len(codes) == 10
    assert codes[0] in client.get(CODES_AS_FILE).content.decode()
    for expected in (True, False):
        other = by_password(keeper)
        other.post(SHOW, {"code": codes[0]})
        assert is_signed_in(other) is expected
    client.post(NEW_CODES)
    assert codes[1] not in client.get(CODES).content.decode()


def test_codes_are_tried_as_seldom_as_passwords(keeper: Member, app: App) -> None:
    """Of one who has the password, on a device that is not known."""
    stranger = by_password(keeper)
    statuses = [stranger.post(SHOW, {"code": "000000"}).status_code for _ in range(TRIES_BY_CLIENT_AT_ADDRESS.most + 1)]
    assert statuses == [200] * TRIES_BY_CLIENT_AT_ADDRESS.most + [429]
    assert stranger.post(SHOW, {"code": app.code()}).status_code == 429


def test_while_the_second_step_is_waited_for_every_other_page_opens(keeper: Member, app: App) -> None:
    client = by_password(keeper)
    for page in (LOGIN, REQUEST_CODE, reverse("account_reset_password")):
        assert client.get(page).status_code == 200
    assert client.get(SHOW).status_code == 200


def test_what_changes_is_told_by_mail(
    transactional_db: None, keeper: Member, clock: Clock, smtp_server: MailServer
) -> None:
    client = signed_in_on(keeper, PC)
    set_up(client, clock)
    client.post(NEW_CODES)
    client.post(REMOVE_APP)
    subjects = {mail["Subject"] for mail in smtp_server.wait_for(3)}
    assert subjects == {
        "You have set up an authenticator app",
        "You have new recovery codes",
        "Your authenticator app has been removed",
    }
    for mail in smtp_server.messages:
        assert "on a computer" in body_of(mail)
        assert "http" not in body_of(mail)
        assert not re.search(r"\d{6}", body_of(mail))


def test_a_factor_taken_off_is_asked_for_no_more(keeper: Member, app: App) -> None:
    client = by_password(keeper)
    client.post(SHOW, {"code": app.code()})
    client.post(reverse("account_reauthenticate"), {"password": PASSWORD})
    client.post(REMOVE_APP)
    assert not Authenticator.objects.exists()
    assert is_signed_in(by_password(keeper))


def test_whoever_reads_the_database_reads_no_key(keeper: Member, app: App, settings: object) -> None:
    kept = str(list(Authenticator.objects.values_list("data", flat=True)))
    assert app.key not in kept
    # With another SECRET_KEY no code fits, and nothing breaks.
    settings.SECRET_KEY = "another one " * 4
    client = by_password(keeper)
    client.post(SHOW, {"code": app.code()})
    assert not is_signed_in(client)


@pytest.mark.parametrize("address", [APP, CODES, NEW_CODES, REMOVE_APP, reverse("mfa_add_webauthn")])
def test_whoever_signed_in_long_ago_shows_first_that_it_is_them(keeper: Member, app: App, address: str) -> None:
    client = Client()
    client.force_login(keeper)  # which leaves no word of when
    asked = {reverse("account_reauthenticate"), reverse("mfa_deactivate_totp")}
    assert client.get(address, follow=False).url.partition("?")[0] in asked


def test_the_pages_are_nobodys_who_is_not_signed_in(client: Client, db: None) -> None:
    for page in (INDEX, APP, CODES, NEW_CODES, reverse("mfa_add_webauthn"), reverse("mfa_list_webauthn"), SHOW):
        assert client.get(page).url.startswith(LOGIN)


# --- What the co-op asks of its coordinators --------------------------------------------------------------

COORDINATORS_PAGES = [
    reverse("instructors:people"),
    reverse("instructors:invite"),
    reverse("instructors:settings"),
    reverse("fleet:reminder-log"),
    reverse("fleet:check-point-add"),
]


@pytest.mark.parametrize("address", COORDINATORS_PAGES)
def test_a_coordinator_without_a_factor_is_led_to_set_one_up(
    everyone: dict[str, Client], coordinator: Member, address: str
) -> None:
    assert everyone["coordinator"].get(address).status_code == 200
    CooperativeFactory(coordinators_need_second_factor=True)
    assert everyone["coordinator"].get(address).url == INDEX
    assert everyone["coordinator"].post(address, {"name": "x"}).status_code in {302, 405}
    assert everyone["keeper"].get(address).status_code == 404


def test_their_own_pages_open_and_tell_them(everyone: dict[str, Client]) -> None:
    CooperativeFactory(coordinators_need_second_factor=True)
    for name in ("costing:home", "costing:fill-log", "fleet:car-list", "fleet:profile"):
        page = everyone["coordinator"].get(reverse(name))
        assert page.status_code == 200
        assert f'<a href="{INDEX}">set one up</a>' in page.content.decode()
    assert "set one up" not in everyone["keeper"].get(HOME).content.decode()


def test_they_see_no_more_of_the_cars_than_a_member(everyone: dict[str, Client], car: object) -> None:
    CooperativeFactory(coordinators_need_second_factor=True)
    assert "QA51" not in everyone["coordinator"].get(reverse("fleet:car-list")).content.decode()
    assert everyone["coordinator"].get(reverse("fleet:car", args=[car.registration])).url == INDEX


def test_with_a_factor_the_pages_open(coordinator: Member, clock: Clock) -> None:
    CooperativeFactory(coordinators_need_second_factor=True)
    client = signed_in_on(coordinator, PC)
    assert client.get(COORDINATORS_PAGES[0]).url == INDEX
    set_up(client, clock)
    assert client.get(COORDINATORS_PAGES[0]).status_code == 200


def test_recovery_codes_alone_are_no_factor(coordinator: Member, client: Client) -> None:
    CooperativeFactory(coordinators_need_second_factor=True)
    Authenticator.objects.create(user=coordinator, type="recovery_codes", data={"seed": "x", "used_mask": 0})
    client.force_login(coordinator)
    assert client.get(COORDINATORS_PAGES[0]).url == INDEX


def recorded(member: Member) -> list[tuple[str, str]]:
    """What stands in the member's record beside signing in itself: what happened, and its words; oldest first."""
    acts = Act.objects.filter(concerns=member).exclude(field="signed_in").order_by("pk")
    assert not any(act.mail_id for act in acts)
    return [(act.field, act.now) for act in acts]


def test_what_changes_stands_in_the_members_record(
    transactional_db: None, keeper: Member, clock: Clock, smtp_server: MailServer
) -> None:
    client = signed_in_on(keeper, PC)
    set_up(client, clock)
    client.post(NEW_CODES)
    client.post(REMOVE_APP)
    events = ("app_set_up", "recovery_codes_made", "app_taken_off")
    assert recorded(keeper) == [(event, "On a computer") for event in events]
    page = text_of(client.get(reverse("instructors:record")))
    for words in ("Authenticator app set up", "New recovery codes made", "Authenticator app removed"):
        assert words in page


def test_a_passkey_taken_off_stands_there_too(keeper: Member, smtp_server: MailServer) -> None:
    client = signed_in_on(keeper, PC)
    passkey = Authenticator.objects.create(user=keeper, type="webauthn", data={"name": "Phone", "credential": {}})
    client.post(reverse("mfa_remove_webauthn", args=[passkey.pk]))
    assert recorded(keeper) == [("passkey_removed", "On a computer")]


@pytest.mark.parametrize("address", [SHOW, reverse("mfa_reauthenticate")])
def test_a_recovery_code_used_is_told_and_written_down(
    address: str, keeper: Member, app: App, smtp_server: MailServer
) -> None:
    codes = Authenticator.objects.get(user=keeper, type="recovery_codes").wrap().generate_codes()
    client, sent = by_password(keeper), len(smtp_server.all_sent())
    if address != SHOW:
        client.post(SHOW, {"code": app.code()})
    client.post(address, {"code": codes[0]})
    assert recorded(keeper)[-1] == ("recovery_code_used", "9 are left, from an unknown program")
    mail = smtp_server.wait_for(sent + 1)[sent]
    assert mail["Subject"] == "A recovery code has been used"
    said = " ".join(body_of(mail).split())
    assert "A recovery code has been used to sign in to the Tuition Car Book for you; 9 are left." in said


def test_being_refused_at_the_second_step_stands_in_the_record(keeper: Member, app: App) -> None:
    stranger = by_password(keeper)
    for _ in range(TRIES_BY_CLIENT_AT_ADDRESS.most + 2):
        stranger.post(SHOW, {"code": "000000"})
    assert [event for event, _ in recorded(keeper)].count("sign_in_refused") == 1
