"""What every test may ask for: the cast, a frozen today, a real mail server, Redis and Celery worker."""

import os
from collections.abc import Callable, Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import hypothesis
import pytest
import time_machine
from django.conf import settings as django_settings
from django.core import mail
from django.core.cache import cache
from django.db import connection
from django.test import Client

from config import health, later
from config.celery import app
from config.outage import REDIS
from fleet.models import Car
from instructors.models import Grade, Member
from instructors.signing_in.middleware import last_seen_key
from tests import run
from tests.factories import CarFactory, CoordinatorFactory, MemberFactory, put_in_order
from tests.hookserver import HookServer
from tests.mailserver import MailServer
from tests.processes import BookProcess, environment
from tests.schemas import make_migrated
from tests.servers import PostgreSQL, Redis, ServerMissing

TODAY = date(2026, 3, 16)

# "suite" finds the same on every machine; "search" looks for something new. Neither watches the clock: the
# machine may be busy.
for _profile, _same_every_time in {"suite": True, "search": False}.items():
    hypothesis.settings.register_profile(
        _profile,
        derandomize=_same_every_time,
        deadline=None,
        suppress_health_check=[hypothesis.HealthCheck.too_slow],
    )
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "suite"))

_servers = pytest.StashKey[list[PostgreSQL | Redis]]()


def pytest_configure(config: pytest.Config) -> None:
    """Start the servers: PostgreSQL once a run, Redis in each process that runs tests."""
    started = config.stash[_servers] = []
    if not run.is_worker():
        config.option.basetemp = config.option.basetemp or str(run.folder() / "tmp")
    if config.option.collectonly or config.option.help or config.option.version:
        return
    wanted: list[PostgreSQL | Redis] = []
    if run.on_postgresql() and not run.is_worker():
        wanted.append(run.postgresql())
    if run.is_worker() or not config.option.numprocesses:
        wanted.append(run.own_redis())
    try:
        for server in wanted:
            started.append(server)
            server.start()
    except ServerMissing as error:
        pytest.exit(str(error), returncode=pytest.ExitCode.USAGE_ERROR)


def pytest_unconfigure(config: pytest.Config) -> None:
    """Stop what this process started, and leave no file behind."""
    for server in config.stash.get(_servers, []):
        server.stop()
    run.remove()


@pytest.fixture(scope="session")
def django_db_keepdb(django_db_modify_db_settings: None) -> bool:
    """That the database of the tests is there: a copy of one that was migrated."""
    make_migrated(connection.settings_dict["TEST"]["NAME"])
    return True


@pytest.fixture
def today() -> Iterator[date]:
    """Monday 16 March 2026, noon in London, and it stays so."""
    noon = datetime(TODAY.year, TODAY.month, TODAY.day, 12, tzinfo=ZoneInfo("Europe/London"))
    with time_machine.travel(noon, tick=False):
        yield TODAY


@pytest.fixture(autouse=True)
def _nobody_has_tried_before() -> None:
    """Attempts to sign in are counted in the cache, which outlasts a test: each begins with none."""
    cache.clear()


@pytest.fixture(autouse=True, scope="session")
def _patient() -> None:
    """A look at the database has its time: the machine may be busy. A test of how soon it is given up says so."""
    health.PATIENCE = 30


@pytest.fixture(autouse=True)
def _served_nowhere() -> None:
    """A server of another test may have written down where it listened, and each mail would lead there."""
    (Path(django_settings.DATA_DIR) / "served_at").unlink(missing_ok=True)


@pytest.fixture
def files_folder(settings: Any, tmp_path: Path) -> Path:
    """The folder of the book's files, empty at first."""
    settings.MEDIA_ROOT = tmp_path / "files"
    return tmp_path / "files"


# --- The cast ---------------------------------------------------------------------------------------------


@pytest.fixture
def keeper(db: None) -> Member:
    """The member whose car it is."""
    return MemberFactory.create(email="keeper@book.example", name="Wren Applegarth")


@pytest.fixture
def colleague(db: None) -> Member:
    """Another member with a car of their own."""
    return MemberFactory.create(email="colleague@book.example", name="Ελπίδα Καραβίδα", grade=Grade.PDI)


@pytest.fixture
def coordinator(db: None) -> Member:
    """A coordinator without a car."""
    return CoordinatorFactory.create(email="coordinator@book.example", name="Zdzisława Łąkowska")


@pytest.fixture
def stranger(db: None) -> Member:
    """A member who has no car, and no part in anything."""
    return MemberFactory.create(email="stranger@book.example", name="Дарина Левкович")


@pytest.fixture
def car(keeper: Member) -> Car:
    """The keeper's car."""
    return CarFactory.create(registration="QA51ABC", keeper=keeper)


@pytest.fixture
def colleague_car(colleague: Member) -> Car:
    """The colleague's car."""
    return CarFactory.create(registration="QB02XYZ", keeper=colleague, description="Grey saloon")


@pytest.fixture
def in_order(request: pytest.FixtureRequest) -> None:
    """Of the cars that the test has: MOT, tax and insurance are known and far ahead, so that only the rest is told."""
    for name in ("car", "colleague_car"):
        if name in request.fixturenames:
            put_in_order(request.getfixturevalue(name))


@pytest.fixture
def client_of() -> Callable[[Member | None], Client]:
    """A function that gives a browser in which a member is signed in; nobody is, for None."""

    def client_of(member: Member | None) -> Client:
        client = Client()
        if member is not None:
            client.force_login(member)
            # Seen a moment ago: else the first page that a test opens would ask more of the database than the second.
            cache.set(last_seen_key(str(client.session.session_key)), True)
        return client

    return client_of


@pytest.fixture
def everyone(
    client_of: Callable[[Member | None], Client],
    keeper: Member,
    colleague: Member,
    coordinator: Member,
    stranger: Member,
) -> dict[str, Client]:
    """A browser for each of the cast, and for somebody who is not signed in."""
    cast = {"keeper": keeper, "colleague": colleague, "coordinator": coordinator, "stranger": stranger}
    return {name: client_of(member) for name, member in cast.items()} | {"anonymous": client_of(None)}


# --- Servers and other processes --------------------------------------------------------------------------


@pytest.fixture(scope="session", autouse=True)
def _mail_server(django_test_environment: None) -> Iterator[MailServer]:
    """The mail server of this process: all mail of all tests goes there, over a real connection."""
    server = MailServer()
    server.start()
    os.environ["EMAIL_URL"] = server.url
    django_settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    django_settings.EMAIL_HOST, django_settings.EMAIL_PORT = "127.0.0.1", server.port
    # Django's list of mails caught in memory stays empty here: a test that looked at it could never fail.
    caught = mail.outbox
    del mail.outbox
    yield server
    mail.outbox = caught
    server.stop()


@pytest.fixture
def smtp_server(_mail_server: MailServer) -> Iterator[MailServer]:
    """The mail server, empty and taking messages: see ``tests.mailserver.MailServer``."""
    # What an earlier test sent beside its requests may still be on its way.
    _mail_server.all_sent()
    _mail_server.clear()
    yield _mail_server
    _mail_server.all_sent()
    _mail_server.clear()


@pytest.fixture(autouse=True)
def _redis_is_there() -> None:
    """That an earlier test took Redis away is forgotten."""
    REDIS.forget()


@pytest.fixture
def no_redis(settings: Any) -> Iterator[None]:
    """Nothing answers where cache and queue look for Redis."""
    nowhere = str(run.own_folder() / "no-redis.sock")
    settings.CACHES = {"default": settings.CACHES["default"] | {"LOCATION": f"unix://{nowhere}"}}
    before = app.conf.broker_url
    app.conf.broker_url = app.conf.broker_write_url = f"redis+socket://{nowhere}"
    later.forget_queue()
    yield
    app.conf.broker_url = app.conf.broker_write_url = before
    later.forget_queue()


@pytest.fixture
def hook_server(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[HookServer]:
    """A web hook whose certificate this process, and those that it starts, take for good."""
    server = HookServer(tmp_path)
    server.start()
    monkeypatch.setenv("SSL_CERT_FILE", str(server.certificate))
    yield server
    server.stop()


@pytest.fixture
def redis_server() -> Redis:
    """This process's Redis, emptied."""
    server = run.own_redis()
    with server.client() as client:
        client.flushall()
    return server


@pytest.fixture
def redis_url(redis_server: Redis) -> str:
    """The address of this process's Redis, emptied, as REDIS_URL has it."""
    return redis_server.url


@pytest.fixture
def book_process(transactional_db: None, tmp_path: Path) -> Iterator[Callable[..., BookProcess]]:
    """A function that starts a Python process of the book on this test's database, broker and mail server.

    ``book_process("manage.py", "send_reminders", "--json")``; ``EMAIL_URL="..."`` sets a variable for it. The
    process has its own, real clock. What still runs when the test ends is killed.
    """
    processes: list[BookProcess] = []

    def start(*arguments: str, **variables: str) -> BookProcess:
        log = tmp_path / f"process-{len(processes)}.log"
        processes.append(BookProcess(arguments, log=log, environment=environment() | variables))
        return processes[-1]

    yield start
    for process in processes:
        process.kill()


@pytest.fixture
def celery_worker_process(book_process: Callable[..., BookProcess], redis_server: Redis) -> Callable[..., BookProcess]:
    """A function that starts a real Celery worker on an empty queue and returns once it takes tasks.

    ``app``: the module of its Celery app.
    """

    def start(app: str = "config", **variables: str) -> BookProcess:
        worker = book_process(
            *("-m", "celery", "-A", app, "worker", "--pool=solo", "--loglevel=INFO"),
            *("--without-gossip", "--without-mingle", "--without-heartbeat"),
            **variables,
        )
        worker.wait_for_output(" ready.")
        return worker

    return start
