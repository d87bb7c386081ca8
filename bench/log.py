"""What it takes to log a fill by the script of its page, beside a bare view with one INSERT.

First the work of both, then how many of each a second the web process answers as a server runs it: gunicorn with the
settings of a server, on the bench's PostgreSQL and a Redis of its own. Both are asked in turn over one connection, as a
proxy hands on what came by https, so that what slows the machine down slows both down.
"""

import http.client
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import timedelta
from statistics import median
from urllib.parse import urlencode
from uuid import uuid4

from django.utils.crypto import get_random_string

from bench.answers import BARE_FILL, FILL, site_with_bare_views
from bench.book import LAST, TEN_YEARS, client_of
from bench.measuring import Figure, alternate, compared, ratio, statements
from costing.models import Fill
from fleet.models import Car
from tests.servers import Redis, dying_with_us, end, free_port, short_folder, takes_connections, wait_until

#: How many times the work of a bare INSERT the answer to a fill may take, and the least of its rate that it may have.
MOST_FOR_A_FILL, LEAST_RATE = 4, 1 / 3
#: Answers of each that are timed, after some until all is read and compiled that is so once.
ROUNDS, WARMING = 150, 15
#: As compose.yaml has it.
_AS_A_SERVER = {"SITE_URL": "https://localhost", "TRUSTED_PROXIES": "1", "STATIC_FILES_COLLECTED": "0"}
_GUNICORN = ("gunicorn", "bench.wsgi", "--preload", "--workers=2", "--threads=4", "--no-control-socket")

Send = Callable[[str], object]


def log() -> Iterator[Figure]:
    """A fill logged by the script of its page, which is told as JSON: its work, and its rate over gunicorn."""
    car = Car.objects.select_related("keeper").order_by("pk")[0]
    yield _work(car)
    with _served() as port:
        yield _rate(_sender(car, port))


def _work(car: Car) -> Figure:
    client = client_of(car.keeper)

    def post(address: str) -> None:
        _require_logged(client.post(address, _fill_of(car), headers={"Accept": "application/json"}).content)

    with site_with_bare_views():
        count = statements(lambda: post(FILL), between=_forget)
        _forget()
        work, base = alternate(lambda: post(FILL), lambda: post(BARE_FILL), between=_forget)
    times = ratio(work, base)
    failure = f"a fill logged by script takes {times:.1f} times a bare INSERT, at most {MOST_FOR_A_FILL} are allowed"
    words = compared(f"fill logged by script in {count} statements", work, "a bare view with one INSERT", base)
    return Figure(words, failure if times > MOST_FOR_A_FILL else "")


def _fill_of(car: Car) -> dict[str, str]:
    """A fill as far from the last one as the others are from each other, so that it is asked nothing."""
    on = LAST + timedelta(days=3)
    return {
        "ref": str(uuid4()), "car": car.registration, "filled_on": str(on), "odometer": str(TEN_YEARS.miles(on)),
        "quantity": "22.5", "amount": "32.50", "brimmed": "on",
    }  # fmt: skip


def _require_logged(answer: bytes) -> None:
    if b"Logged" not in answer:
        raise RuntimeError("nothing was logged, so nothing is measured")


def _forget() -> None:
    Fill.objects.filter(filled_on__gt=LAST).delete()
    Fill.history.filter(filled_on__gt=LAST).delete()


def _rate(send: Send) -> Figure:
    """Time both in turn; the median of each tells its rate."""
    seconds: dict[str, list[float]] = {FILL: [], BARE_FILL: []}
    for _ in range(WARMING + ROUNDS):
        for address, passed in seconds.items():
            started = time.perf_counter()
            send(address)
            passed.append(time.perf_counter() - started)
            _forget()
    ours, theirs = (1 / median(passed[WARMING:]) for passed in seconds.values())
    words = f"fills logged by script over gunicorn: {ours:,.0f} a second; a bare view with one INSERT {theirs:,.0f}"
    return Figure(f"{words}: {ours / theirs:.2f} of its rate", too_slow(ours / theirs))


def too_slow(rate: float) -> str:
    """Whether the log has too little of the rate of a bare view, in words; empty if not."""
    words = (
        f"a fill is logged over gunicorn at {rate:.2f} of the rate of a bare INSERT, at least {LEAST_RATE:.2f} is due"
    )
    return words * (rate < LEAST_RATE)


def _sender(car: Car, port: int) -> Send:
    """What sends a fill to an address as the page's script does, signed in, over one connection; it must be logged."""
    [session] = client_of(car.keeper).cookies.values()
    token = get_random_string(32)
    headers = {
        "Host": f"localhost:{port}",
        "X-Forwarded-Proto": "https",
        "Referer": f"https://localhost:{port}{FILL}",
        "Cookie": f"__Host-sessionid={session.value}; __Host-csrftoken={token}",
        "Accept": "application/json",
        "Content-Type": "application/x-www-form-urlencoded",
    }
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)

    def send(address: str) -> None:
        body = urlencode(_fill_of(car) | {"csrfmiddlewaretoken": token})
        connection.request("POST", address, body, headers)
        _require_logged(connection.getresponse().read())

    return send


@contextmanager
def _served() -> Iterator[int]:
    """Serve the site by gunicorn as a server does; gives the port."""
    folder, port = short_folder(), free_port()
    redis = Redis(folder / "redis")
    redis.start()
    environment: Mapping[str, str] = os.environ | _AS_A_SERVER | {"REDIS_URL": redis.url}
    command = [sys.executable, "-m", *_GUNICORN, f"--bind=127.0.0.1:{port}"]
    serving = subprocess.Popen(dying_with_us(command, on_death="TERM"), env=environment, stderr=subprocess.DEVNULL)
    try:
        wait_until(lambda: takes_connections(port), "gunicorn")
        yield port
    finally:
        end(serving)
        redis.stop()
        shutil.rmtree(folder)
