"""The web process as compose.yaml starts it, behind a proxy that ends https, asked over real connections."""

import re
import socket
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from http.cookies import SimpleCookie
from pathlib import Path

import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.urls import reverse

from config import budgets
from fleet.actions import open_feed
from instructors.models import Member
from tests.processes import BookProcess
from tests.schemas import without_tables
from tests.visitor import Visitor

PASSWORD = "a long enough phrase 7"  # noqa: S105 - of a made-up member
LOGIN = reverse("account_login")
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def served(book_process: Callable[..., BookProcess]) -> Callable[..., tuple[BookProcess, int]]:
    """A function that starts gunicorn for https://localhost, with further variables; the process and its port."""

    def start(**variables: str) -> tuple[BookProcess, int]:
        server = book_process(
            *("-m", "gunicorn", "config.wsgi", "--bind=127.0.0.1:0", "--workers=1", "--threads=2"),
            *("--no-control-socket", "--access-logfile=-"),
            SITE_URL="https://localhost",
            SECRET_KEY="for-this-test-only-" + "0123456789" * 3,
            TRUSTED_PROXIES="1",
            **variables,
        )
        return server, server.port()

    return start


def over_https(port: int) -> Visitor:
    """As the proxy hands on what came over https, from a page of the site."""
    return Visitor(port, X_Forwarded_Proto="https", Referer=f"https://localhost:{port}/")


@pytest.fixture
def member(transactional_db: None, keeper: Member) -> Member:
    keeper.password = Argon2PasswordHasher().encode(PASSWORD, "salt-of-a-test")
    keeper.save()
    return keeper


def test_it_is_used_over_https_alone(served: Callable[..., tuple[BookProcess, int]], member: Member) -> None:
    _, token = open_feed(by=member, scope="own")
    feed = reverse("fleet:calendar-feed", args=[token])
    _, port = served()
    plain, secure = Visitor(port), over_https(port)
    for path in ("/", LOGIN, "/nowhere/"):
        answer = plain.get(path)
        assert (answer.status, answer.headers["Location"]) == (301, f"https://localhost:{port}{path}")
    for path in (LOGIN, "/static/app.css", "/nowhere/"):
        rule = secure.get(path).headers["Strict-Transport-Security"]
        assert int(re.search(r"max-age=(\d+)", rule)[1]) >= 365 * 24 * 3600
        assert "includeSubDomains" in rule
    # Programs are refused, not led on: whoever set one up wrongly is to notice. Of the health page all may know.
    refused = plain.get(feed)
    assert (refused.status, refused.body) == (403, "Only over https.")
    assert "BEGIN:VCALENDAR" in secure.get(feed).body
    assert plain.get("/health/").status in {200, 503}


def test_every_cookie_is_for_this_host_and_for_https(
    served: Callable[..., tuple[BookProcess, int]], member: Member
) -> None:
    _, port = served()
    visitor = over_https(port)
    lines = visitor.get(LOGIN).headers.get_all("Set-Cookie", [])
    answer = visitor.post(LOGIN, login=member.email, password=PASSWORD)
    assert answer.status == 302
    lines += answer.headers.get_all("Set-Cookie", [])
    cookies = {name: morsel for line in lines for name, morsel in SimpleCookie(line).items()}
    assert set(cookies) == {"__Host-sessionid", "__Host-csrftoken", "__Host-device"}
    for cookie in cookies.values():
        assert (cookie["path"], cookie["domain"], cookie["samesite"]) == ("/", "", "Lax")
        assert cookie["secure"] is cookie["httponly"] is True
        assert cookie.value not in answer.body
    assert visitor.get("/").status == 200


def test_an_error_says_nothing_of_the_inside(served: Callable[..., tuple[BookProcess, int]], tmp_path: Path) -> None:
    server, port = served(DATABASE_URL=without_tables(tmp_path / "without-tables.sqlite3"))
    answer = over_https(port).get("/invitation/a-link/")
    assert answer.status == 500
    assert "Something went wrong" in answer.body
    assert not re.search(r"Traceback|no such table|instructors_|\.py|sqlite", answer.body)
    assert over_https(port).get("/account/password/reset/").status == 200, "it goes on serving what it can"
    # What happened is in the log, each line of the book's with the moment and how far that is from Greenwich.
    assert "no such table" in server.output()
    assert re.search(
        r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d{4} ERROR [0-9a-f]{8} django.request: ", server.output(), re.MULTILINE
    )


def test_nobody_writes_a_line_of_their_own_into_the_log(served: Callable[..., tuple[BookProcess, int]]) -> None:
    server, port = served()
    over_https(port).get("/nowhere%0A%0DERROR%20forged")
    server.wait_for_output("Not Found")
    assert not re.search(r"^ERROR forged", server.output().replace("\r", "\n"), re.MULTILINE)


SMUGGLED = "GET /smuggled/ HTTP/1.1\r\nHost: localhost\r\n\r\n"


@pytest.mark.parametrize(
    "headers",
    [
        "Content-Length: 6\r\nTransfer-Encoding: chunked",
        "Transfer-Encoding: chunked\r\nContent-Length: 6",
        "Content-Length: 6\r\nContent-Length: 60",
        "Content-Length: +6",
        "Transfer-Encoding: xchunked",
    ],
)
def test_where_a_request_ends_is_never_in_doubt(headers: str, served: Callable[..., tuple[BookProcess, int]]) -> None:
    _, port = served()
    with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
        connection.sendall(f"POST / HTTP/1.1\r\nHost: localhost\r\n{headers}\r\n\r\n0\r\n\r\n{SMUGGLED}".encode())
        answer = b""
        while more := connection.recv(65536):
            answer += more
    assert re.findall(rb"HTTP/1\.1 (\d+)", answer) in ([b"400"], [b"501"])


@pytest.mark.parametrize(
    ("length", "accept", "status"),
    [
        (budgets.REQUEST_BYTES + 1, "text/html", 413),
        (4_000_000, "text/html", 413),
        (4_000_000, "application/json", 401),
    ],
)
def test_what_is_refused_unread_is_told_so_to_whoever_sends_on(
    length: int, accept: str, status: int, served: Callable[..., tuple[BookProcess, int]]
) -> None:
    """A browser, and the front, may send for a while before they look for an answer: no send of theirs fails."""
    _, port = served()
    head = f"POST {LOGIN} HTTP/1.1\r\nHost: localhost\r\nX-Forwarded-Proto: https\r\nAccept: {accept}\r\n"
    with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
        connection.sendall(f"{head}Connection: close\r\nContent-Length: {length}\r\n\r\n".encode())
        for _ in range(30):
            connection.sendall(b"x" * 100_000)
            time.sleep(0.02)
        answer = b""
        while b"\r\n\r\n" not in answer:
            answer += connection.recv(65536)
    assert answer.startswith(f"HTTP/1.1 {status} ".encode())


@pytest.mark.parametrize("kept", ["close", "keep-alive"])
def test_whoever_is_refused_and_sends_on_a_byte_at_a_time_keeps_nobody_waiting(
    kept: str, served: Callable[..., tuple[BookProcess, int]]
) -> None:
    _, port = served()
    over = threading.Event()

    def trickle() -> None:
        with socket.create_connection(("127.0.0.1", port), timeout=60) as connection:
            head = f"POST {LOGIN} HTTP/1.1\r\nHost: localhost\r\nX-Forwarded-Proto: https\r\nConnection: {kept}\r\n"
            connection.sendall(f"{head}Content-Length: 900000\r\n\r\n".encode())
            assert connection.recv(65536).startswith(b"HTTP/1.1 413 ")
            refused.release()
            with suppress(OSError):
                while not over.wait(0.2):
                    connection.send(b"x")

    refused = threading.Semaphore(0)
    # As many as the server has threads.
    tricklers = [threading.Thread(target=trickle) for _ in range(2)]
    for one in tricklers:
        one.start()
    try:
        for _ in tricklers:
            assert refused.acquire(timeout=60)
        # It gives up waiting after a minute.
        assert over_https(port).get(LOGIN).status == 200
    finally:
        over.set()
        for one in tricklers:
            one.join(60)


def test_trace_is_not_answered(served: Callable[..., tuple[BookProcess, int]]) -> None:
    _, port = served()
    visitor = Visitor(port, X_Forwarded_Proto="https", X_Mine="an-echo")
    for path in ("/", LOGIN, "/static/app.css", "/nowhere/"):
        answer = visitor._ask("TRACE", path)
        assert answer.status != 200
        assert "an-echo" not in answer.body
