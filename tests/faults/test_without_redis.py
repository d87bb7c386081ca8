"""Redis stopped, frozen, full, emptied or restarted while the book is used: everything works but the nudge.

Web process, worker, Redis and mail server are real ones.
"""

from collections.abc import Callable, Iterator
from datetime import timedelta
from functools import partial
from pathlib import Path
from uuid import uuid4

import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.urls import reverse
from django.utils import timezone

from config.celery import app
from costing.actions import ask_for_paper
from costing.models import Fill, Paper
from fleet.models import Car, Defect, ReminderMail, ReminderRun
from fleet.tasks import watch
from instructors.models import Cooperative, Member
from tests.factories import FillFactory
from tests.faults.serving import PATIENCE, Start, serve, signed_in, timed
from tests.fleet.reminding import due_item
from tests.mailserver import MailServer
from tests.servers import Redis, short_folder, wait_until

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("in_order")]

PASSWORD = "a long enough phrase 7"  # noqa: S105 - of a made-up member


@pytest.fixture
def redis() -> Iterator[Redis]:
    """A Redis of this test's own, which it may take away."""
    server = Redis(short_folder() / "redis")
    server.start()
    yield server
    server.stop()


@pytest.fixture(params=[Redis.stop, Redis.freeze, Redis.fill, Redis.come_back_full], ids=lambda change: change.__name__)
def gone(request: pytest.FixtureRequest, redis: Redis, book_process: Start) -> int:
    """Redis goes away while the book is served, or takes nothing any more; the port of the book."""
    port = serve(book_process, REDIS_URL=redis.url)
    signed_in_page(port)
    request.param(redis)
    return port


def signed_in_page(port: int) -> None:
    """What connects the web process with Redis."""
    signed_in(Member.objects.first(), port).get(reverse("costing:home"))


def a_defect() -> dict[str, str]:
    today = timezone.localdate().isoformat()
    return {
        "ref": str(uuid4()),
        "description": "Brake hose torn",
        "severity": "dangerous",
        "found_on": today,
        "found_by": "other",
    }


def report(port: int, member: Member, car: Car) -> float:
    """Report a dangerous defect; the seconds until the book has answered."""
    page = reverse("fleet:defect-report", args=[car.registration])
    visitor = signed_in(member, port)
    visitor.get(page)
    answer, seconds = timed(visitor.post, page, **a_defect())
    assert answer.status == 303
    return seconds


def told(coordinator: Member, server: MailServer) -> list[str]:
    """Which mails told the coordinator of a defect; from the hour of the reminders on the worker sends those too."""
    to_coordinator = [message for message in server.messages if message["To"] == coordinator.email]
    return [message["Message-ID"] for message in to_coordinator if message["Subject"].startswith("Do not use")]


def test_the_book_is_used_as_before(car: Car, keeper: Member, gone: int, smtp_server: MailServer) -> None:
    keeper.password = Argon2PasswordHasher().encode(PASSWORD, "salt-of-a-test")
    keeper.save()
    visitor = signed_in(keeper, gone)
    for name in ("costing:home", "costing:more", "fleet:car-list"):
        answer, seconds = timed(visitor.get, reverse(name))
        assert (answer.status, seconds < PATIENCE) == (200, True), (name, seconds)
    stranger = signed_in(keeper, gone)
    stranger.cookies.clear()
    login = reverse("account_login")
    stranger.get(login)
    answer, seconds = timed(stranger.post, login, login=keeper.email, password=PASSWORD)
    assert (answer.status, answer.headers["Location"], seconds < PATIENCE) == (302, "/", True), seconds


def test_whoever_guesses_passwords_is_still_held_back(car: Car, keeper: Member, gone: int) -> None:
    guesser = signed_in(keeper, gone)
    guesser.cookies.clear()
    login = reverse("account_login")
    statuses = [guesser.post(login, login=keeper.email, password=f"a wrong phrase {n}").status for n in range(7)]
    assert statuses == [200] * 5 + [429] * 2


def test_a_dangerous_defect_is_reported_in_time(car: Car, keeper: Member, coordinator: Member, gone: int) -> None:
    for _ in range(3):
        assert report(gone, keeper, car) < PATIENCE
    assert Defect.objects.count() == 3
    assert ReminderMail.objects.count() >= 3


def test_whom_it_concerns_hears_of_it_in_seconds(
    car: Car,
    keeper: Member,
    coordinator: Member,
    redis: Redis,
    book_process: Start,
    smtp_server: MailServer,
) -> None:
    """Once for each: what was queued was emptied out, it is stopped, it is there again, it takes nothing any more."""
    port = serve(book_process, REDIS_URL=redis.url)
    report(port, keeper, car)
    with redis.client() as client:
        assert client.llen("celery") == 1
        client.flushall()
    worker = book_process(
        "-m", "celery", "-A", "config", "worker", "--concurrency=1", "--loglevel=INFO", REDIS_URL=redis.url
    )
    worker.wait_for_output(" ready.")
    wait_until(lambda: len(told(coordinator, smtp_server)) == 1, "the first mail")
    for count, change in enumerate((redis.stop, redis.start, redis.fill), start=2):
        change()
        report(port, keeper, car)
        wait_until(lambda count=count: len(told(coordinator, smtp_server)) == count, "the next mail")
    assert len(set(told(coordinator, smtp_server))) == len(told(coordinator, smtp_server)) == 4


@pytest.mark.parametrize("take_away", [Redis.stop, Redis.fill])
def test_a_run_of_reminders_and_a_paper_are_not_dropped(
    take_away: Callable[[Redis], None],
    car: Car,
    keeper: Member,
    redis: Redis,
    book_process: Start,
    smtp_server: MailServer,
    tmp_path: Path,
) -> None:
    """Beat cannot reach the worker, nor the web process, so the worker does by itself what is due."""
    Cooperative.objects.create(reminder_hour=12)
    due_item(car=car, due_on=timezone.localdate() - timedelta(days=1))
    FillFactory(car=car, member=keeper)
    if take_away is Redis.stop:
        take_away(redis)
    today = timezone.localdate()
    paper = ask_for_paper(by=keeper, kind="statement", days=(today - timedelta(days=9), today))
    Paper.objects.update(asked_at=timezone.now() - timedelta(days=1))
    worker = book_process(
        *("-m", "celery", "-A", "tests.faults.at_noon", "worker", "--concurrency=1", "--loglevel=INFO"),
        REDIS_URL=redis.url,
        DATA_DIR=str(tmp_path),
    )
    if take_away is Redis.fill:
        worker.wait_for_output(" ready.")
        take_away(redis)
    smtp_server.wait_for(1)
    wait_until(lambda: Paper.objects.get(pk=paper.pk).is_made, worker.output())
    wait_until(lambda: ReminderRun.objects.get().finished_at is not None, "the end of the run")
    assert [message["To"] for message in smtp_server.messages] == [keeper.email]
    assert Fill.objects.count() == 1


def test_a_worker_goes_on_when_redis_comes_back_full_and_takes_from_it_again_once_there_is_room(
    car: Car, keeper: Member, coordinator: Member, redis: Redis, book_process: Start, smtp_server: MailServer
) -> None:
    """To connect anew it would write, which is refused for as long as it takes."""
    port = serve(book_process, REDIS_URL=redis.url)
    worker = book_process(
        "-m", "celery", "-A", "config", "worker", "--concurrency=1", "--loglevel=INFO", REDIS_URL=redis.url
    )
    worker.wait_for_output(" ready.")
    redis.come_back_full()
    worker.wait_for_output("Redis takes nothing: the worker waits until it does")
    report(port, keeper, car)
    wait_until(lambda: bool(told(coordinator, smtp_server)), "the mail")
    assert worker.process.poll() is None, worker.output()
    redis.make_room()
    with app.connection_for_write(redis.url) as queue:
        watch.apply_async(connection=queue)
    worker.wait_for_match(r"Task fleet\.tasks\.watch\[.*succeeded")


def test_a_worker_that_is_started_while_redis_is_full_waits_for_room(
    car: Car, keeper: Member, coordinator: Member, redis: Redis, book_process: Start, smtp_server: MailServer
) -> None:
    """What is to be done meanwhile it does by itself, and it may be told to end."""
    redis.fill()
    start = partial(
        *(book_process, "-m", "celery", "-A", "config", "worker", "--concurrency=1", "--loglevel=INFO"),
        REDIS_URL=redis.url,
    )
    with start() as worker:
        worker.wait_for_output("Redis takes nothing: the worker waits until it does")
        report(serve(book_process, REDIS_URL=redis.url), keeper, car)
        wait_until(lambda: bool(told(coordinator, smtp_server)), "the mail")
        assert worker.process.poll() is None, worker.output()
        redis.make_room()
        worker.wait_for_output(" ready.")
    redis.fill()
    with start() as worker:
        worker.wait_for_output("Redis takes nothing")
        worker.process.terminate()
        assert worker.wait() == 0, worker.output()
