"""What each log page weighs as a server sends it: the first time, and once the browser has kept the rest."""

from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from bench.delivery import BESIDES, MOST_AGAIN, MOST_AT_FIRST, SHELL, WORKER, Weight, besides, static_names, too_heavy
from fleet.models import Car

LOGS = tuple(reverse(f"costing:{name}") for name in ("fill-log", "cost-log", "teaching-log"))
#: Bytes by which the kit of a member with a year and a half of records is heavier than the one of the test.
RECORDS = 1_600


@pytest.fixture
def collected(settings: Any, tmp_path: Path, car: Car) -> Client:
    """The keeper's browser, at a site that serves its static files as they were collected."""
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STATIC_FILES_COLLECTED, settings.WHITENOISE_USE_FINDERS = True, False
    settings.STORAGES = settings.STORAGES | {"staticfiles": {"BACKEND": "config.lean.LeanStaticFiles"}}
    call_command("collectstatic", interactive=False, verbosity=0)
    client = Client()
    client.force_login(car.keeper)
    return client


def sent(client: Client, address: str, encoding: str = "gzip, br") -> Any:
    """The answer to a browser that takes this encoding, its body as ``body``; unless told, as phones do over https."""
    answer = client.get(address, headers={"accept-encoding": encoding})
    assert answer.status_code == 200, address
    answer.body = b"".join(answer) if answer.streaming else answer.content
    return answer


def test_each_log_page_is_light_at_first_and_asks_for_nothing_again(collected: Client) -> None:
    """All in: what the worker fetches beside the page, the worker itself, the icon of the manifest, and the kit.

    What asks without a signal comes with any other page, or with the second visit: with a signal the book asks.
    """
    shell, worker = (sent(collected, address, "identity").body for address in (SHELL, WORKER))
    others = sum(len(sent(collected, address).body) for address in BESIDES)
    for address in LOGS:
        page, plain = sent(collected, address), sent(collected, address, "identity").body
        names = static_names(plain)
        assert [name.rpartition(".")[2] for name in names if not name.endswith(".js")] == [
            *("css", "woff2", "woff2", "svg", "svg")
        ]
        beside = besides(plain, shell, worker)
        files = [sent(collected, f"/static/{name}") for name in sorted({*names, *beside})]
        weight = len(page.body) + sum(len(file.body) for file in files) + others
        assert len(page.body) <= MOST_AGAIN, address
        assert weight <= MOST_AT_FIRST - RECORDS, address
        for file in files:
            assert "immutable" in file.headers["Cache-Control"], "so the worker, and a second visit, fetch none again"
        # What the worker asks for has the addresses that the page has asked for.
        more = {name.partition(".")[0] for name in {*static_names(shell)} - {*names}}
        assert more <= {"shell", "plausible", "receipt"}


def test_what_was_collected_is_sent_as_small_as_the_browser_takes_it(collected: Client) -> None:
    [styles] = [name for name in static_names(sent(collected, LOGS[0], "identity").body) if name.endswith(".css")]
    sizes = {}
    for encoding in ("identity", "gzip", "br"):
        answer = sent(collected, f"/static/{styles}", encoding)
        assert answer.headers.get("Content-Encoding", "identity") == encoding
        sizes[encoding] = len(answer.body)
    assert sizes["br"] < sizes["gzip"] < sizes["identity"] / 2


@pytest.mark.parametrize(
    ("sent_of_page", "sent_of_files", "words"),
    [
        (3_000, 57_000, ""),
        (3_001, 0, "a second visit of a log page takes 3.0 kB, at most 3.0 kB are allowed"),
        (2_900, 57_200, "a first visit of a log page takes 60.1 kB, at most 60.0 kB are allowed"),
    ],
)
def test_the_bench_fails_beyond_either_limit(sent_of_page: int, sent_of_files: int, words: str) -> None:
    assert too_heavy(Weight(9_000, 150_000, sent_of_page, sent_of_files)) == words
