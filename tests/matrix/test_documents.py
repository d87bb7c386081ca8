"""What leaves the book as files and mails, and what one member's figures tell of another's on the same car."""

import re
from datetime import date, timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.urls import reverse

from tests.mailserver import MailServer
from tests.matrix.asking import SIGN_IN, Asker, undone
from tests.matrix.canaries import text_in
from tests.matrix.roles import (
    ANONYMOUS,
    COORDINATOR,
    FORMER_KEEPER,
    FORMER_MEMBER,
    KEEPER,
    MEMBERS,
    NEW_KEEPER,
    STRANGER,
)
from tests.matrix.table import TABLE
from tests.matrix.world import PASSWORD, World


@pytest.mark.parametrize("role", sorted(MEMBERS))
def test_a_members_archive_holds_nothing_of_anybody_elses(world: World, tmp_path: Path, role: str) -> None:
    path, member = tmp_path / "mine.zip", world.members[role]
    call_command("dump_archive", str(path), member=member.email, stdout=StringIO())
    text = text_in(path.read_bytes(), "application/zip")
    assert member.email in text
    assert world.canaries.seen(role, text) == []


def test_reminders_tell_nobody_anybody_elses_money(world: World, smtp_server: MailServer) -> None:
    with undone():
        call_command("send_reminders", on=date(2026, 10, 30), stdout=StringIO())
    assert smtp_server.messages
    roles = {member.email: role for role, member in world.members.items()}
    for mail in smtp_server.messages:
        words = "\n".join(part.get_content() for part in mail.walk() if not part.is_multipart())
        assert world.canaries.seen(roles[mail["To"]], f"{mail['Subject']}\n{words}") == []


def test_what_falls_due_is_told_without_money(world: World) -> None:
    printed = StringIO()
    call_command("whats_due", json=True, stdout=printed)
    assert "QA51NOW" in printed.getvalue()
    assert world.canaries.seen(COORDINATOR, printed.getvalue()) == []


#: Days on which somebody else kept the car, and who asks for what those cost.
of_another_keeper = pytest.mark.parametrize(
    ("role", "days"),
    [(NEW_KEEPER, "first=2025-05-01&last=2025-06-15"), (FORMER_KEEPER, "first=2026-02-01&last=2026-02-28")],
    ids=["kept before", "kept since"],
)


@of_another_keeper
def test_a_cars_figures_tell_nothing_of_what_another_keeper_filled_in(asker: Asker, role: str, days: str) -> None:
    """From miles and miles a gallon anybody has the litres to the thousandth."""
    assert "Miles a gallon" not in _figures(asker, role, days)


@of_another_keeper
def test_a_cars_figures_tell_nothing_of_how_far_another_keeper_drove(asker: Asker, role: str, days: str) -> None:
    assert not re.search(r"<dt>Miles</dt>\s*<dd[^>]*>\s*[1-9]", _figures(asker, role, days))


def _figures(asker: Asker, role: str, days: str) -> str:
    its = asker.world.before if role == NEW_KEEPER else asker.world.now
    page = asker.ask(role, "GET", f"{reverse('costing:statement')}?{days}&car={its.car.registration}")
    assert page.status == 200
    assert "You did not have this car in service then." in page.body
    return page.body


@pytest.mark.parametrize("name", ["valuation", "agreement"])
def test_a_keeper_is_not_told_on_which_days_a_former_one_recorded_something(asker: Asker, name: str) -> None:
    """A day that somebody else has taken is answered as any other."""
    its = asker.world.before
    day = {"valuation": its.valuation.valued_on, "agreement": its.agreement.starts_on}[name]
    address = reverse(f"costing:{name}-add", args=[its.car.registration])
    typed = {"value": "7000", "kind": "owned", "price": "9000"}
    taken, free = (
        asker.ask(NEW_KEEPER, "POST", address, data=typed | {"valued_on": on, "starts_on": on})
        for on in (day, day + timedelta(days=1))
    )
    # Days of the former keeper's time are refused alike.
    assert taken.status == free.status == 200
    words = r"You took \S+ \S+ over on \d+ \w+ \d{4}"
    assert re.findall(words, taken.body) == re.findall(words, free.body) != []


# --- Whoever has left, and invitations that are over --------------------------------------------------------


def test_a_former_member_does_not_come_in_again_by_password_or_code(
    asker: Asker, world: World, smtp_server: MailServer
) -> None:
    browser, email = asker.browser(FORMER_MEMBER), world.members[FORMER_MEMBER].email
    assert asker.ask(FORMER_MEMBER, "GET", reverse("costing:home")).status == SIGN_IN
    with undone():
        browser.post(reverse("account_login"), {"login": email, "password": PASSWORD})
        assert browser.get(reverse("costing:home")).status_code == 302
        browser.post(reverse("account_request_login_code"), {"email": email})
        for mail in smtp_server.messages:
            for code in re.findall(r"^[A-Z0-9-]{6,}$", mail.get_content(), re.MULTILINE):
                browser.post(reverse("account_confirm_login_code"), {"code": code})
        assert browser.get(reverse("costing:home")).status_code == 302


def test_a_member_who_is_still_one_does(asker: Asker, world: World) -> None:
    browser = asker.browser(ANONYMOUS)
    with undone():
        browser.post(reverse("account_login"), {"login": world.members[STRANGER].email, "password": PASSWORD})
        assert browser.get(reverse("costing:home")).status_code == 200


def test_in_the_middle_of_a_sign_in_nothing_opens_but_the_second_step(asker: Asker, world: World) -> None:
    """Whoever has the keeper's password and not the passkey learns no more than which passkeys would do."""
    browser, canaries = asker.browser(ANONYMOUS), world.canaries
    with undone():
        browser.post(reverse("account_login"), {"login": world.members[KEEPER].email, "password": PASSWORD})
        step = browser.get(reverse("mfa_authenticate"))
        assert step.status_code == 200
        assert canaries.seen(ANONYMOUS, step.content.decode()) == ["id of keeper's passkey"]
        for row in TABLE:
            if ANONYMOUS not in row.who(world.now) and row.get == 200:
                page = browser.get(row.address(world.now))
                assert page.status_code == 302, row
                assert canaries.seen(ANONYMOUS, page.headers["Location"], sent=row.address(world.now)) == []


@pytest.mark.parametrize("state", ["expired", "withdrawn", "accepted"])
def test_an_invitation_that_is_over_tells_nothing_and_makes_nobody_a_member(asker: Asker, state: str) -> None:
    address = reverse("instructors:accept-invitation", args=[f"invitation-{state}"])
    for data in (None, {"name": "Somebody", "password": PASSWORD}):
        answer = asker.ask(ANONYMOUS, "GET" if data is None else "POST", address, data=data)
        assert answer.status == 410
        assert asker.world.canaries.seen(ANONYMOUS, answer.told, sent=address) == []
        assert answer.written == []
