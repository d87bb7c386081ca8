"""A book installed as compose.yaml says, every process a real one; its members come through the front by https."""

import http.client
import os
import re
import shutil
import signal
import ssl
import subprocess
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, closing, suppress
from datetime import timedelta
from http.cookies import SimpleCookie
from pathlib import Path
from threading import Event
from typing import NamedTuple

import psycopg
import pyrage
import pytest
from django.urls import reverse
from django.utils import timezone

from config import budgets
from instructors.signing_in.limits import TRIES_BY_CLIENT_AT_ADDRESS
from tests import run
from tests.composed import STOOD_IN_FOR, Composed, variables_for
from tests.mailserver import MailServer
from tests.processes import OtherProcess
from tests.servers import free_port, program, wait_until
from tests.visitor import Visitor

pytestmark = pytest.mark.skipif(not run.on_postgresql(), reason="compose.yaml has a PostgreSQL of its own")

LOGIN = reverse("account_login")
EMAIL, PASSWORD = "first@book.example", "a long enough phrase 7"
ONE, OTHER = "127.0.0.2", "127.0.0.3"

#: Writes down the mails of today, as the schedule does at each member's hour, and sends none.
PLAN = """
import django
django.setup()
from django.utils import timezone
from fleet.reminders import plan_reminders
plan_reminders(timezone.localdate())
"""


class Installed(NamedTuple):
    """The running book, and the mail server that it sends to."""

    composed: Composed
    mail: MailServer

    def visitor(self, *, comes_from: str = "127.0.0.1", **headers: str) -> Visitor:
        """A browser that takes the front's certificate and no other."""
        composed = self.composed
        return Visitor(composed.https_port, comes_from=comes_from, trusting=composed.trusting(), **headers)

    def in_clear(self) -> Visitor:
        """A browser that comes by http."""
        return Visitor(self.composed.http_port)


@pytest.fixture(scope="module")
def installed() -> Iterator[Installed]:
    """All of it, with its first coordinator."""
    mail = MailServer()
    mail.start()
    key = pyrage.x25519.Identity.generate().to_public()
    with Composed(variables_for(mail, BACKUP_FOLDER="/mnt/backups", BACKUP_RECIPIENT=str(key))) as composed:
        composed.start_all()
        installed = Installed(composed, mail)
        said = composed.run("web", "python", "manage.py", "invite", EMAIL, "--coordinator")
        link = said.split()[0].removeprefix(f"https://localhost:{composed.https_port}")
        assert installed.visitor().post(link, name="Wren Applegarth", password=PASSWORD).status == 303
        yield installed
    mail.stop()


def test_every_service_of_compose_yaml_was_started(installed: Installed) -> None:
    assert set(installed.composed.processes) | set(STOOD_IN_FOR) == set(installed.composed.services)


def status_of_try(visitor: Visitor, password: str) -> int:
    """The status of the answer: 302 who is let in, 200 who is wrong, 429 who has to wait."""
    return visitor.post(LOGIN, login=EMAIL, password=password).status


def test_a_member_signs_in_over_https_with_cookies_for_it_alone(installed: Installed) -> None:
    visitor = installed.visitor()
    page = visitor.get(LOGIN)
    assert int(re.search(r"max-age=(\d+)", page.headers["Strict-Transport-Security"])[1]) >= 365 * 24 * 3600
    assert "default-src 'self'" in page.headers["Content-Security-Policy"]
    assert not {"Server", "Via"} & set(page.headers)
    answer = visitor.post(LOGIN, login=EMAIL, password=PASSWORD)
    assert (answer.status, visitor.get("/").status) == (302, 200)
    cookies = SimpleCookie("\n".join(answer.headers.get_all("Set-Cookie")))
    assert "__Host-sessionid" in cookies
    assert all(cookie["secure"] and cookie["httponly"] for cookie in cookies.values())


def test_a_browser_that_does_not_know_the_authority_goes_no_further(installed: Installed) -> None:
    stranger = Visitor(installed.composed.https_port, trusting=ssl.create_default_context())
    with pytest.raises(ssl.SSLCertVerificationError):
        stranger.get(LOGIN)


def test_whoever_comes_in_clear_is_led_to_the_site_but_a_calendar_program_is_refused(installed: Installed) -> None:
    for path in ("/", f"{LOGIN}?next=/", "/nowhere/"):
        answer = installed.in_clear().get(path)
        assert (answer.status, answer.headers["Location"]) == (
            301,
            f"https://localhost:{installed.composed.https_port}{path}",
        )
        assert "Set-Cookie" not in answer.headers
    feed = reverse("fleet:calendar-feed", args=["a-secret-address"])
    refused = installed.in_clear().get(feed)
    assert (refused.status, refused.body) == (403, "Only over https.")
    # Over https the book itself answers.
    assert installed.visitor().get(feed).status == 404


def test_a_header_that_a_browser_invents_makes_it_nobody_else(installed: Installed) -> None:
    for _ in range(TRIES_BY_CLIENT_AT_ADDRESS.most):
        assert status_of_try(installed.visitor(comes_from=ONE), "not this one") == 200
    for invented in (OTHER, "198.51.100.7", f"198.51.100.7, {OTHER}", "nonsense"):
        liar = installed.visitor(comes_from=ONE, X_Forwarded_For=invented)
        assert status_of_try(liar, PASSWORD) == 429
    # Nor does anybody use up another's tries by naming them, or seem to come in clear.
    other = installed.visitor(comes_from=OTHER, X_Forwarded_For=ONE, X_Forwarded_Proto="http")
    assert status_of_try(other, PASSWORD) == 302


def posting(visitor: Visitor, length: int) -> http.client.HTTPSConnection:
    """A connection on which a stranger has begun to sign in, with a body of so many bytes to come.

    Without the form's token in its head, the book has to read the body for it.
    """
    connection = visitor._connection()
    connection.putrequest("POST", LOGIN)
    connection.putheader("Referer", f"https://localhost:{visitor.port}{LOGIN}")
    connection.putheader("Cookie", "; ".join(f"{name}={value}" for name, value in visitor.cookies.items()))
    connection.putheader("Content-Type", "application/x-www-form-urlencoded")
    connection.putheader("Content-Length", str(length))
    connection.endheaders(b"login=")
    return connection


def answered_while_sent(asking: http.client.HTTPSConnection) -> bytes:
    """What is said, up to the heading of a page, while more and more of a body is sent."""
    asking.sock.settimeout(0.1)
    said = b""
    while b"</h1>" not in said:
        try:
            more = asking.sock.recv(65536)
        except TimeoutError:
            # The front looks for an answer whenever more has come. Once it has one, it may take no more.
            with suppress(OSError):
                asking.send(b"x" * 20_000)
        else:
            assert more, said
            said += more
    return said


def test_what_is_too_large_is_refused_with_the_books_own_page_while_it_is_sent(installed: Installed) -> None:
    with closing(posting(installed.visitor(), budgets.REQUEST_BYTES + 1)) as asking:
        said = answered_while_sent(asking)
    assert said.startswith(b"HTTP/1.1 413 ")
    assert b"<h1>This is too large</h1>" in said


def test_strangers_who_send_slowly_keep_nobody_waiting(installed: Installed) -> None:
    """They are more than the book has threads, and go on for longer than whoever comes meanwhile waits."""
    stranger = installed.visitor(comes_from=ONE)
    stranger.get(LOGIN)
    with ExitStack() as stack:
        slow = [stack.enter_context(closing(posting(stranger, 50_000))) for _ in range(10)]
        over = stack.enter_context(ThreadPoolExecutor(1))
        done = Event()
        stack.callback(done.set)

        def trickle() -> None:
            while not done.wait(0.8):
                for connection in slow:
                    connection.send(b"x")

        trickling = over.submit(trickle)
        time.sleep(2)
        for _ in range(5):
            assert installed.visitor(comes_from=OTHER).get(LOGIN).status == 200
        assert trickling.running()
    assert trickling.exception() is None


def test_what_is_too_long_for_a_stranger_is_refused_while_it_is_sent(installed: Installed) -> None:
    """The front hands on what it does not keep, and the book reads none of it."""
    with closing(posting(installed.visitor(), 10_000_000)) as asking:
        said = answered_while_sent(asking)
    assert said.startswith(b"HTTP/1.1 413 ")
    assert b"<h1>Sign in first</h1>" in said


def test_while_the_book_is_away_the_front_says_so_and_goes_on_once_it_is_back(installed: Installed) -> None:
    composed, secret = installed.composed, "/invitation/a-secret-address/"
    composed.stop("web")
    visitor = installed.visitor(comes_from=OTHER)
    for answer in (visitor.get(secret), visitor.send(LOGIN, login=EMAIL)):
        assert (answer.status, answer.headers["Retry-After"], answer.headers["Cache-Control"]) == (503, "5", "no-store")
        assert "<h1>Back in a moment</h1>" in answer.body
    assert installed.in_clear().get("/").status == 301
    composed.start("web")
    assert visitor.get(LOGIN).status == 200
    # Neither who came, nor for what.
    written = (composed.folder / "front.log").read_text()
    assert "serving initial configuration" in written
    assert not re.search(f"{OTHER}|a-secret-address|{LOGIN}", written)


@pytest.fixture
def hasty_front(installed: Installed, tmp_path: Path) -> Iterator[Visitor]:
    """A browser at a second front of the same book, which waits for it as the first does, but for seconds alone."""
    composed, port = installed.composed, free_port()
    shutil.copytree(composed.front, tmp_path / "front")
    settings_of_front = tmp_path / "front" / "Caddyfile"
    hasty, count = re.subn(r"(response_header_timeout) \d+s", r"\1 3s", settings_of_front.read_text())
    assert count == 1
    settings_of_front.write_text(hasty)
    own = {"SITE_URL": f"https://localhost:{port}", "HTTPS_PORT": str(port), "HTTP_PORT": str(free_port())}
    with OtherProcess(
        [program("caddy", "caddy"), *composed.services["front"]["command"][1:]],
        log=tmp_path / "front.log",
        environment=composed.environment("front") | own,
        folder=tmp_path / "front",
    ):
        wait_until(lambda: composed.opens(port), "the second front")
        yield Visitor(port, trusting=composed.trusting())


def test_while_the_book_is_frozen_the_front_gives_it_up_and_goes_on_once_it_does(
    installed: Installed, hasty_front: Visitor
) -> None:
    """Its port takes connections all the while: whoever called would wait for ever."""
    web = str(installed.composed.processes["web"].pid)
    assert hasty_front.get(LOGIN).status == 200
    children = subprocess.run([program("pgrep", "procps"), "-P", web], capture_output=True, text=True).stdout.split()
    frozen = [int(pid) for pid in (web, *children)]
    for pid in frozen:
        os.kill(pid, signal.SIGSTOP)
    try:
        for answer in (hasty_front.get(LOGIN), hasty_front.send(LOGIN, login=EMAIL)):
            assert (answer.status, answer.headers["Retry-After"]) == (503, "5")
            assert "<h1>Back in a moment</h1>" in answer.body
    finally:
        for pid in frozen:
            os.kill(pid, signal.SIGCONT)
    assert hasty_front.get(LOGIN).status == 200


def with_an_mot_due(folder: Path) -> Path:
    """An archive of one car, whose MOT is due in a week."""
    due = timezone.localdate() + timedelta(days=7)
    (folder / "cars.csv").write_text(
        "registration,keeper_email,fuel,transmission,soft_top,dual_controls,in_service_from\n"
        f"QA51ABC,{EMAIL},petrol,manual,false,true,2024-01-08\n"
    )
    (folder / "dues.csv").write_text(f"registration,kind,due_on,every_months\nQA51ABC,mot,{due},12\n")
    return folder


def test_the_worker_sends_what_is_due_and_backs_up_and_does_what_beat_hands_it(
    installed: Installed, tmp_path: Path
) -> None:
    composed, mail = installed
    mail.clear()
    composed.run("web", "python", "manage.py", "load_archive", str(with_an_mot_due(tmp_path)))
    composed.run("web", "python", "-c", PLAN)
    [reminder] = mail.wait_for(1)
    assert reminder["To"] == EMAIL
    assert f"https://localhost:{composed.https_port}/" in str(reminder)
    # As beat does from 4:20 on.
    composed.run("web", "celery", "-A", "config", "call", "instructors.tasks.back_up")
    # It may be midnight: of this day, or of the one before.
    wait_until(lambda: any(composed.backups.glob("book-*.backup")), "the backup of the day")
    [made] = composed.backups.glob("book-*.backup")
    assert made.read_bytes().startswith(b"age-encryption.org/v1")
    # The worker shows itself only in a task that beat hands over each minute.
    with psycopg.connect(host=str(composed.database.folder), user="book", dbname="book", autocommit=True) as database:

        def seen() -> set[str]:
            return {name for (name,) in database.execute("SELECT name FROM fleet_pulse")}

        wait_until(lambda: seen() == {"schedule", "worker"}, "a task from beat to the worker", 240)
    # On a busy machine a look at the database may take longer than it is waited for.
    wait_until(lambda: installed.visitor().get("/health/").status == 200, "members to be told")


def test_the_doctor_finds_the_front_well(installed: Installed, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SSL_CERT_FILE", str(installed.composed.root_certificate))
    look = "import django; django.setup(); from config.doctor.front import front; print(front())"
    assert "opens, with a certificate until" in installed.composed.run("web", "python", "-c", look)
