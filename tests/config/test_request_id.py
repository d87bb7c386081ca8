"""Every answer has an id, which the lines of the log carry, from the page to the worker, and an error page shows."""

import json
import logging
import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from config.celery import app
from config.later import soon
from config.logs import JsonLine
from config.request_id import HEADER, current_request_id, working_for
from tests.processes import BookProcess
from tests.schemas import without_tables
from tests.visiting import Visitor

LOGIN = reverse("account_login")


@pytest.fixture
def gunicorn(book_process: Callable[..., BookProcess]) -> Callable[..., tuple[BookProcess, Visitor]]:
    """A function that starts the web process as the image does, only with one worker."""

    def start(**variables: str) -> tuple[BookProcess, Visitor]:
        server = book_process(
            *("-m", "gunicorn", "config.wsgi", "--bind=127.0.0.1:0", "--workers=1", "--threads=2"),
            "--no-control-socket",
            LOG_LEVEL="INFO",
            **variables,
        )
        return server, Visitor(server.wait_for_match(r"Listening at: (\S+)")[1])

    return start


@pytest.mark.django_db
def test_each_answer_has_an_id_of_the_books_own(client: Client) -> None:
    first, second = (client.get(LOGIN, headers={HEADER: "brought-along"}) for _ in range(2))
    ids = {answer.headers[HEADER] for answer in (first, second)}
    assert len(ids) == 2
    assert all(re.fullmatch("[0-9a-f]{8}", each) for each in ids)
    assert current_request_id() == ""


def test_a_line_on_each_answer_has_the_route_and_no_address(gunicorn, transactional_db) -> None:
    server, visitor = gunicorn(LOG_FORM="JSON")
    visitor.get("/invitation/some-secret-token/?who=somebody")
    server.wait_for_output('"route"')
    [line] = [json.loads(line) for line in server.output().splitlines() if '"route"' in line]
    assert (line["method"], line["route"], line["status"]) == ("GET", "invitation/<str:token>/", 404)
    assert line["request"] != "-"
    assert line["seconds"] >= 0
    assert not re.search("some-secret-token|somebody|127.0.0.1:.*GET", json.dumps(line))


def test_an_error_page_shows_the_id_under_which_the_log_has_the_error(gunicorn, tmp_path) -> None:
    server, visitor = gunicorn(DATABASE_URL=without_tables(tmp_path / "without-tables.sqlite3"))
    answer = visitor.get(LOGIN)
    assert answer.status == 500
    [number] = re.findall("<b>([0-9a-f]{8})</b>", answer.text)
    assert f"ERROR {number} django.request: Internal Server Error" in server.output()


def test_what_the_worker_does_for_a_page_is_written_under_the_pages_id(
    celery_worker_process, redis_server, transactional_db
) -> None:
    worker = celery_worker_process()
    with working_for("0badcafe"):
        soon("instructors.tasks.clean")
    worker.wait_for_output("0badcafe")
    assert re.search("INFO 0badcafe .*clean", worker.output())
    # What the schedule asks for next is for nobody.
    app.send_task("instructors.tasks.retry_act_mail")
    worker.wait_for_output("INFO - celery.app.trace: Task instructors.tasks.retry_act_mail")
    assert not re.search("0badcafe .*retry_act_mail", worker.output())


def test_a_task_that_a_page_runs_itself_keeps_its_id() -> None:
    seen = []

    @app.task(name="tests.what_id")
    def what_id() -> None:
        seen.append(current_request_id())

    try:
        what_id.apply()
        with working_for("feedbeef"):
            what_id.apply()
    finally:
        app.tasks.unregister("tests.what_id")
    assert seen == ["", "feedbeef"]
    assert current_request_id() == ""


def test_an_error_is_one_line_of_json_with_its_traceback() -> None:
    record = logging.getLogger("book").makeRecord("book", logging.ERROR, "here", 1, "It broke", (), None)
    try:
        raise ValueError("in two\nlines")
    except ValueError as error:
        record.exc_info = (ValueError, error, error.__traceback__)
    line = JsonLine().format(record)
    assert "\n" not in line
    told = json.loads(line)
    assert (told["level"], told["logger"], told["request"], told["message"]) == ("ERROR", "book", "-", "It broke")
    assert told["error"].endswith("ValueError: in two\nlines")
