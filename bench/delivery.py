"""What it takes to hand an answer over: to print it, to send its bytes, and to start the process that gives it.

A sheet is held against WeasyPrint's own time for the same HTML.
"""

import http.client
import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from typing import Any, NamedTuple
from unittest import mock

import brotli
from django.conf import settings
from django.contrib.staticfiles import finders
from django.core.management import call_command
from django.templatetags.static import static
from django.test import Client
from django.urls import reverse

from bench.answers import BOARD, FILL, HOME
from bench.book import at_noon, client_of, coordinator_client
from bench.measuring import Call, Figure, alternate, compared, in_words, ratio, typical
from bench.offers import upload
from config import budgets
from config.lean import lean
from fleet.models import Car
from tests.servers import dying_with_us, end, free_port, wait_until

#: A sheet of fifty cars takes a second: fewer rounds tell enough.
SHEET_ROUNDS = 5
STARTS = 5
#: Times what `manage.py check` of an empty project takes.
MOST_OF_START = 2.5
#: Settings of this process that the commands of another project must not have, or that have it compile all anew.
_NOT_OF_A_PROJECT = ("DJANGO_SETTINGS_MODULE", "PYTHONDONTWRITEBYTECODE")
#: The last month of the book.
_LAST_MONTH = "first=2026-10-01&last=2026-10-31"
#: Times what WeasyPrint alone takes for the same HTML.
MOST_OF_PAPER = 1.3
#: Bytes, compressed, of a page that is opened often and anywhere: the first time with both faces and all else that it
#: needs, and again when the browser has kept those.
MOST_AT_FIRST, MOST_AGAIN = 60_000, 3_000
#: The log pages.
LOGS = (FILL, reverse("costing:cost-log"), reverse("costing:teaching-log"))
#: What a phone fetches beside a log page the first time: the worker, the page that it keeps, what installs the book,
#: and what the phone keeps of its member.
SHELL, WORKER = reverse("costing:waiting"), reverse("costing:worker")
BESIDES = (SHELL, WORKER, reverse("costing:manifest"), reverse("costing:kit"))
#: The address of a static file in a page, without what follows a #: one file of icons is fetched once.
_STATIC = re.compile(rb"""(?:href|src)=["']/static/([^"'#?]+)""")


def paper() -> Iterator[Figure]:
    """The board of all cars, what a car must have for lessons, the decision between six offers, and what a car cost."""
    car = Car.objects.select_related("keeper").order_by("pk")[0]
    with at_noon():
        member, coordinator = client_of(car.keeper), coordinator_client()
        ready = reverse("fleet:ready-sheet", args=[car.registration, "teach"])
        decision = reverse("costing:comparison-sheet", args=[upload(member)])
        yield _sheet("the board", coordinator, reverse("fleet:board-sheet"))
        yield _sheet("readiness of one car", member, ready)
        yield _sheet("the decision between six offers", member, decision)
        month, year = (f"{reverse(f'costing:{name}-pdf')}?{_LAST_MONTH}" for name in ("statement", "year"))
        yield _sheet("the statement of a month", member, month)
        # However long it is: a longer one goes to the worker, which takes as long for it.
        with mock.patch.object(budgets, "PAPER_ROWS_AT_ONCE", budgets.PAPER_ROWS):
            yield _sheet("a member's year", member, year)


def _sheet(what: str, client: Client, address: str) -> Figure:
    print_again = _printing_again(client, address)
    work, base = alternate(lambda: client.get(address), print_again, rounds=SHEET_ROUNDS)
    return Figure(compared(f"PDF of {what}", work, "WeasyPrint alone", base), too_slow(what, ratio(work, base)))


def too_slow(what: str, times: float) -> str:
    """Whether a sheet takes too many times what WeasyPrint alone takes, in words; empty if not."""
    return f"the PDF of {what} takes {times:.2f} times WeasyPrint's own time, at most {MOST_OF_PAPER} are allowed" * (
        times > MOST_OF_PAPER
    )


def _printing_again(client: Client, address: str) -> Call:
    """Ask for a sheet once; what is returned prints the same HTML in the same way with WeasyPrint alone."""
    # A machine may lack its libraries, and no other measure needs them.
    import weasyprint

    handed_over: list[tuple[dict[str, Any], dict[str, Any]]] = []

    class Listening(weasyprint.HTML):
        def __init__(self, **source: Any) -> None:
            super().__init__(**source)
            self.source = source

        def render(self, **options: Any) -> Any:
            handed_over.append((self.source, options))
            return super().render(**options)

    with mock.patch.object(weasyprint, "HTML", Listening):
        client.get(address)
    # A sheet that is to fit a number of pages is laid out until it does.
    source, options = handed_over[-1]
    return lambda: weasyprint.HTML(**source).render(**options).write_pdf(**options)


def weights() -> Iterator[Figure]:
    """The bytes of each main page, and of the static files that a browser fetches for it the first time."""
    car = Car.objects.select_related("keeper").order_by("pk")[0]
    with at_noon():
        member = client_of(car.keeper)
        pages = {
            "sign in": (Client(headers={"host": "localhost"}), reverse("account_login")),
            "home": (member, HOME),
            **{f"log at {address}": (member, address) for address in LOGS},
            "entries": (member, reverse("costing:entries")),
            "the car": (member, reverse("fleet:car", args=[car.registration])),
            "its cost": (member, reverse("costing:car-cost", args=[car.registration])),
            # It leads on to the first group of what there is to look at.
            "look round it": (
                member,
                member.get(reverse("fleet:check-record", args=[car.registration])).headers["Location"],
            ),
            "six offers": (member, reverse("costing:comparison", args=[upload(member)])),
            "board of all cars": (coordinator_client(), BOARD),
        }
        for what, (client, address) in pages.items():
            weight = _weight(client, address)
            failure = too_heavy(weight) if address in LOGS else ""
            yield Figure(f"page, {what}: {weight.in_words()}", failure)


class Weight(NamedTuple):
    """The bytes of a page and of the static files that it asks for, plain and compressed."""

    page: int
    files: int
    page_sent: int
    files_sent: int

    def in_words(self) -> str:
        """How much it is plain, and how much is sent."""
        plain, sent = self.page + self.files, self.page_sent + self.files_sent
        return f"{_kb(plain)} ({_kb(self.page)} of HTML), compressed {_kb(sent)} ({_kb(self.page_sent)} of HTML)"


def too_heavy(weight: Weight) -> str:
    """Which limit of a log page is broken, in words; empty for none."""
    first, again = weight.page_sent + weight.files_sent, weight.page_sent
    if first > MOST_AT_FIRST:
        return f"a first visit of a log page takes {_kb(first)}, at most {_kb(MOST_AT_FIRST)} are allowed"
    if again > MOST_AGAIN:
        return f"a second visit of a log page takes {_kb(again)}, at most {_kb(MOST_AGAIN)} are allowed"
    return ""


def _weight(client: Client, address: str) -> Weight:
    response, sent = client.get(address), client.get(address, headers={"accept-encoding": "gzip"})
    if response.status_code != 200:
        raise RuntimeError(f"{address} answers {response.status_code}, so nothing is weighed")
    files, others = static_names(response.content), []
    if address in LOGS:
        others = [client.get(one, headers={"accept-encoding": "gzip"}).content for one in BESIDES]
        files += besides(response.content, *(client.get(one).content for one in (SHELL, WORKER)))
    read = [_read(name) for name in files]
    plain, compressed = sum(map(len, read)), sum(map(_sent, read)) + sum(map(len, others))
    return Weight(len(response.content), plain, len(sent.content), compressed)


def static_names(page: bytes) -> list[str]:
    """The static files that a browser fetches for a page, by their names below /static/."""
    return sorted({name.decode() for name in _STATIC.findall(page)})


def besides(page: bytes, shell: bytes, worker: bytes) -> list[str]:
    """The static files that a phone fetches for the worker and the manifest at once, and not for the page itself."""
    imported = {name.decode() for name in re.findall(rb'"/static/([^"]+)"', worker)}
    icon, later = (static(name).removeprefix(settings.STATIC_URL) for name in ("icons/icon-192.png", "plausible.js"))
    return sorted((imported | {*static_names(shell), icon}) - {*static_names(page), later})


def _read(name: str) -> bytes:
    """A static file as it is collected, without what only its readers need."""
    with open(str(finders.find(name)), "rb") as file:
        content = file.read()
    is_own = name.endswith((".css", ".js")) and "/" not in name
    return lean(content.decode(), name).encode() if is_own else content


def _sent(content: bytes) -> int:
    # As WhiteNoise does, which keeps what does not become smaller as it is.
    return min(len(content), len(brotli.compress(content)))


def _kb(count: int) -> str:
    return f"{count / 1000:.1f} kB"


def start() -> Iterator[Figure]:
    """Import the site, over importing Django and setting up none of it; check it; serve it until the first answer."""
    work, base = alternate(lambda: _run("import config.wsgi"), lambda: _run("import django.core.wsgi"), rounds=STARTS)
    yield Figure(compared("importing the site", work, "importing Django alone", base))
    with tempfile.TemporaryDirectory() as empty:
        call_command("startproject", "empty", empty)
        work, base = alternate(_check_of(settings.BASE_DIR), _check_of(Path(empty)), rounds=STARTS)
    yield Figure(
        compared("`manage.py check`", work, "that of an empty project", base), starts_slowly(ratio(work, base))
    )
    passed: list[float] = []
    serving = typical(lambda: passed.append(_first_answer()), rounds=STARTS)
    yield Figure(f"`manage.py serve` to the first sign-in page: {in_words(serving)}; {median(passed):.2f} s passed")


def _run(code: str) -> None:
    subprocess.run([sys.executable, "-c", code], env=os.environ, check=True)


def _check_of(folder: Path) -> Call:
    """Run `manage.py check` of the project in a folder, whose modules Python may keep compiled."""
    env = {name: value for name, value in os.environ.items() if name not in _NOT_OF_A_PROJECT}
    command = [sys.executable, "manage.py", "check"]
    return lambda: subprocess.run(command, cwd=folder, env=env, stdout=subprocess.DEVNULL, check=True)


def starts_slowly(times: float) -> str:
    """Whether a command takes too many times what one of an empty project takes to start, in words; empty if not."""
    words = f"`manage.py check` takes {times:.2f} times that of an empty project, at most {MOST_OF_START} are allowed"
    return words * (times > MOST_OF_START)


def _first_answer() -> float:
    """The seconds that pass from the start of the process to its answer; then it is ended."""
    port = free_port()
    started = time.perf_counter()
    serving = subprocess.Popen(
        dying_with_us([sys.executable, "manage.py", "serve", f"127.0.0.1:{port}"]), stdout=subprocess.DEVNULL
    )
    try:
        wait_until(lambda: _answers(port), "the first answer")
        return time.perf_counter() - started
    finally:
        end(serving)


def _answers(port: int) -> bool:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    try:
        connection.request("GET", reverse("account_login"))
        return connection.getresponse().status == 200
    except ConnectionRefusedError:
        return False
    finally:
        connection.close()
