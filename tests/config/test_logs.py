"""No line of any log holds what could be used: a link, a session, a code."""

import logging
import re
from collections.abc import Callable
from io import StringIO

import pytest
from django.conf import settings as django_settings
from django.urls import reverse

from config.celery import app
from config.logs import HIDDEN, blanked
from fleet import actions as fleet_actions
from instructors import actions
from tests.addresses import filled_in, routes
from tests.factories import InvitationFactory
from tests.processes import BookProcess
from tests.schemas import without_tables
from tests.visiting import Visitor

TOKEN = "VldxTBIQRzuCIylGqXVUqiqLTKbckTBvYphcZtHDAtA"  # noqa: S105 - of nobody's; without a digit
#: What an address may hold that nobody else may know, by the names that url patterns give it.
SECRET_PARAMETERS = {"token", "key"}
#: Everything that gunicorn could be asked to write of a request.
LOUD = '%(t)s %(h)s "%(r)s" %(U)s %(q)s %(s)s "%(f)s" "%({cookie}i)s"'


def test_every_address_that_holds_a_secret_is_known_to_the_log() -> None:
    found = 0
    for route, pattern in routes():
        names = set(pattern.pattern.converters) | set(pattern.pattern.regex.groupindex)
        if SECRET_PARAMETERS & names:
            path = filled_in(route, dict.fromkeys(names, "s3cret"))
            assert "s3cret" in path
            assert "s3cret" not in blanked(f"Not Found: {path}"), route
            found += 1
    assert found >= 3


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        (f"Not Found: /invitation/{TOKEN}/", f"Not Found: /invitation/{HIDDEN}/"),
        (f"/invitation/{TOKEN}", f"/invitation/{HIDDEN}"),
        ("/invitation/cut-sho/", f"/invitation/{HIDDEN}/"),
        ("/invitation/%41%42cd/", f"/invitation/{HIDDEN}/"),
        (f"/calendar/{TOKEN}.ics", f"/calendar/{HIDDEN}"),
        ("https://book.example/calendar/abc", f"https://book.example/calendar/{HIDDEN}"),
        ("/account/password/reset/key/2-cx3k8a-0e3/", f"/account/password/reset/key/{HIDDEN}/"),
        ("next=%2Finvitation%2Fabc%2F", f"next=%2Finvitation%2F{HIDDEN}%2F"),
        ("next%3D%252Finvitation%252Fabc%252F", f"next%3D%252Finvitation%252F{HIDDEN}%252F"),
        ("GET /fills/new/?note=private&a=1 HTTP/1.1", f"GET /fills/new/?{HIDDEN} HTTP/1.1"),
        ("sessionid=abc123; csrftoken=def", f"sessionid={HIDDEN}; csrftoken={HIDDEN}"),
        ("{'sessionid': 'abc123'}", f"{{'sessionid': '{HIDDEN}'}}"),
        (f"/invitatoin/a1{TOKEN}/", f"/invitatoin/{HIDDEN}/"),
    ],
)
def test_what_could_be_used_is_blanked(line: str, expected: str) -> None:
    assert blanked(line) == expected


@pytest.mark.parametrize(
    "line",
    [
        "fleet.tasks.remind_today took 0.1 s",
        "Task fleet.tasks.send_mail[0c8f2d0e-6a41-4c43-9c0b-2b8d3c1f5a77] succeeded in 0.1s: None",
        "in test_whatever_the_book_writes_is_for_its_own_account_alone",
        "Not Found: /cars/QA51ABC/calendars/",
        "Why? Because 2 = 2.",
    ],
)
def test_what_helps_whoever_looks_after_the_server_stays(line: str) -> None:
    assert blanked(line) == line


def test_a_traceback_is_blanked_too_whoever_writes_it() -> None:
    written = StringIO()
    handler = logging.StreamHandler(written)
    logger = logging.getLogger("somebody.else")
    logger.addHandler(handler)
    logger.propagate = False
    try:
        raise ValueError(f"no view for /invitation/{TOKEN}/")
    except ValueError:
        logger.exception("At %s", f"/calendar/{TOKEN}.ics", stack_info=True)
    finally:
        logger.removeHandler(handler)
    assert f"ValueError: no view for /invitation/{HIDDEN}" in written.getvalue()
    assert "Stack (most recent call last)" in written.getvalue()
    assert TOKEN not in written.getvalue()


def test_no_report_of_an_error_is_mailed() -> None:
    assert django_settings.ADMINS == []
    assert not logging.getLogger("django").handlers


@pytest.fixture
def gunicorn(book_process: Callable[..., BookProcess]) -> Callable[..., tuple[BookProcess, Visitor]]:
    """A function that starts the web process as compose.yaml does, only that it writes down all it can."""

    def start(**variables: str) -> tuple[BookProcess, Visitor]:
        server = book_process(
            *("-m", "gunicorn", "config.wsgi", "--bind=127.0.0.1:0", "--workers=1", "--threads=2"),
            *("--no-control-socket", "--access-logfile=-", f"--access-logformat={LOUD}"),
            LOG_LEVEL="DEBUG",
            **variables,
        )
        return server, Visitor(server.wait_for_match(r"Listening at: (\S+)")[1])

    return start


def test_secrets_that_are_used_stay_out_of_the_web_processs_log(gunicorn, smtp_server, keeper, coordinator) -> None:
    invitation = InvitationFactory.create(invited_by=coordinator)
    token = actions.renew_link(by=coordinator, invitation=invitation)
    _, feed_token = fleet_actions.open_feed(by=keeper, scope="own")
    join = reverse("instructors:accept-invitation", args=[token])
    feed = reverse("fleet:calendar-feed", args=[feed_token])
    server, visitor = gunicorn()
    assert visitor.get(join).status == 200
    assert visitor.post(join, {"name": "Bo", "password": "a long enough phrase 7"}).status == 403
    assert visitor.get(join + "more/").status == 404
    assert visitor.get(join.rstrip("/"), Referer=visitor.site + join).status == 200
    assert visitor.get(feed).status == 200
    assert visitor.get(feed.removesuffix(".ics")).status == 404
    assert visitor.get(f"/cars/?next={feed}").status == 200
    visitor.send_form("/account/password/reset/", {"email": keeper.email})
    [reset] = re.findall(r"/account/password/reset/key/\S+", smtp_server.wait_for(1)[0].get_content())
    assert visitor.get(reset).status == 200
    said = server.output()
    assert all(f" {status} " in said for status in (200, 301, 403, 404))
    assert "Forbidden (CSRF" in said
    cookies = [cookie.value for cookie in visitor.cookies]
    assert len(cookies) >= 2
    key = reset.rstrip("/").rpartition("/")[2]
    assert not [secret for secret in (token, feed_token, key, *cookies) if secret in said]


def test_an_error_of_the_book_is_written_down_without_them(gunicorn, tmp_path) -> None:
    server, visitor = gunicorn(DATABASE_URL=without_tables(tmp_path / "without-tables.sqlite3"))
    for path in (f"/invitation/{TOKEN}/", f"/calendar/{TOKEN}.ics"):
        assert visitor.get(path, Referer=visitor.site + path).status == 500
    said = server.output()
    assert "Traceback" in said
    assert f"Internal Server Error: /invitation/{HIDDEN}" in said
    assert TOKEN not in said


def test_the_worker_writes_no_arguments_that_could_be_used(celery_worker_process, redis_server) -> None:
    worker = celery_worker_process()
    app.send_task("no.such.task", args=[f"/invitation/{TOKEN}/"])
    worker.wait_for_output("Received unregistered task")
    worker.wait_for_output(HIDDEN)
    assert TOKEN not in worker.output()
