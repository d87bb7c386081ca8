"""What a phone is given to log without a signal: the worker, the page that it keeps, the manifest, and the kit."""

import io
import json
import re
from base64 import b64decode
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from PIL import Image

from config.look import icons
from config.look.tokens import SHADES
from costing.models import Fill
from fleet.models import Car
from instructors.models import Member
from instructors.queries import member_key, member_seal

WAITING, KIT = reverse("costing:waiting"), reverse("costing:kit")
WORKER, MANIFEST = reverse("costing:worker"), reverse("costing:manifest")
LOGS = [reverse(f"costing:{name}") for name in ("fill-log", "cost-log", "teaching-log")]
STATIC = settings.BASE_DIR / "static"

pytestmark = pytest.mark.django_db


def unmasked(seal: str) -> bytes:
    """A member's seal as the phone finds it: the first half of what is sent is the mask."""
    sent = b64decode(seal)
    return bytes(mask ^ masked for mask, masked in zip(sent[:32], sent[32:], strict=True))


def body_of(answer: Any) -> bytes:
    """What a static file's answer holds; reading all of it closes the file."""
    assert answer.status_code == 200
    return b"".join(answer)


def told_to_the_worker(client: Client) -> dict[str, Any]:
    """What the worker is told to keep."""
    code = client.get(WORKER).content.decode()
    return json.loads(re.match(r"self\.book = (\{.*\});\n", code)[1])


def test_the_page_that_is_kept_is_the_same_for_everybody(everyone: dict[str, Client], car: Car) -> None:
    answers = {who: client.get(WAITING) for who, client in everyone.items()}
    assert len({answer.content for answer in answers.values()}) == 1
    page = answers["keeper"].content.decode()
    assert not answers["keeper"].cookies
    for told in (car.registration, car.keeper.name, member_key(car.keeper), "csrfmiddlewaretoken"):
        assert told not in page
    assert re.findall(r'data-log-page="([^"]+)"', page) == LOGS
    assert page.count("data-log=") == 3
    assert re.findall(r'name="ref" value="([^"]*)"', page) == []


def test_asking_for_the_page_that_is_kept_again_brings_the_same(client: Client) -> None:
    assert client.get(WAITING).content == client.get(WAITING).content


def test_the_worker_keeps_what_its_page_asks_for_and_nothing_else(client: Client) -> None:
    answer = client.get(WORKER)
    assert answer.headers["Content-Type"] == "text/javascript; charset=utf-8"
    assert answer.headers["Cache-Control"] == "private, no-cache"
    told = told_to_the_worker(client)
    assert (told["shell"], told["logs"]) == (WAITING, LOGS)
    asked = set(re.findall(r'(?:src|href)="(/static/[^"#]+)', client.get(WAITING).content.decode()))
    assert {*told["files"], *told["later"]} == asked
    # What asks without a signal is fetched at the second visit: with one, the book itself asks.
    assert told["later"] == ["/static/plausible.js"]
    assert {Path(file).name for file in asked} >= {
        "app.css",
        "outbox.js",
        "phone.js",
        "shell.js",
        "log.js",
        "besley.woff2",
    }
    assert not [file for file in asked if "htmx" in file]
    assert answer.content.decode().endswith('importScripts("/static/worker.js");\n')


def test_another_script_makes_another_version(client: Client, tmp_path: Path, settings: Any) -> None:
    before = told_to_the_worker(client)["version"]
    assert told_to_the_worker(client)["version"] == before
    (tmp_path / "worker.js").write_text("// another")
    settings.STATICFILES_DIRS = [tmp_path, *settings.STATICFILES_DIRS]
    assert told_to_the_worker(client)["version"] != before


def test_collected_files_are_named_with_their_hash(client: Client, tmp_path: Path, settings: Any) -> None:
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STATIC_FILES_COLLECTED, settings.WHITENOISE_USE_FINDERS = True, False
    settings.STORAGES = settings.STORAGES | {"staticfiles": {"BACKEND": "config.lean.LeanStaticFiles"}}
    call_command("collectstatic", interactive=False, verbosity=0)
    client = Client()
    files = told_to_the_worker(client)["files"]
    assert files
    for file in files:
        assert re.search(r"\.[0-9a-f]{12}\.\w+$", file), "the worker takes these from what it keeps, for good"
        assert body_of(client.get(file))


def test_a_phone_can_put_the_book_on_its_home_screen(client: Client) -> None:
    answer = client.get(MANIFEST)
    assert answer.headers["Content-Type"] == "application/manifest+json; charset=utf-8"
    told = json.loads(answer.content)
    assert (told["start_url"], told["scope"], told["display"]) == ("/", "/", "standalone")
    assert told["background_color"] == SHADES["paper"].light
    assert [one["url"] for one in told["shortcuts"]] == LOGS
    assert {(one["sizes"], one["purpose"]) for one in told["icons"]} >= {
        ("192x192", "any"),
        ("512x512", "any"),
        ("512x512", "maskable"),
    }
    for one in told["icons"]:
        picture = Image.open(io.BytesIO(body_of(client.get(one["src"]))))
        assert one["sizes"] == f"{picture.width}x{picture.height}"
    assert f'<link rel="manifest" href="{MANIFEST}">' in client.get(reverse("account_login")).content.decode()


@pytest.mark.parametrize("name", icons.SIZES)
def test_an_icon_is_the_sign_in_the_colours_of_the_look(name: str) -> None:
    drawn = Image.open(io.BytesIO(icons.drawn(*icons.SIZES[name]))).convert("RGB")
    stored = Image.open(STATIC / "icons" / name).convert("RGB")
    assert drawn.tobytes() == stored.tobytes(), "run: python -m config.look.icons"
    colours = [colour for _, colour in sorted(stored.getcolors(), reverse=True)[:2]]
    assert [f"#{red:02x}{green:02x}{blue:02x}" for red, green, blue in colours] == [
        SHADES["paper"].light,
        SHADES["accent"].light,
    ]


def test_the_kit_is_of_whoever_asks(everyone: dict[str, Client], keeper: Member, colleague: Member) -> None:
    answer = everyone["keeper"].get(KIT)
    kit = answer.json()
    assert "no-store" in answer.headers["Cache-Control"]
    assert kit["member"] == member_key(keeper)
    assert unmasked(kit["seal"]) == member_seal(keeper)
    assert len(kit["token"]) == 64
    again = everyone["keeper"].get(KIT).json()["seal"]
    assert again != kit["seal"], "it is masked, so that the length of an answer tells nothing of it"
    assert unmasked(again) == unmasked(kit["seal"])
    assert unmasked(everyone["colleague"].get(KIT).json()["seal"]) == member_seal(colleague) != member_seal(keeper)
    assert everyone["anonymous"].get(KIT).status_code == 302
    assert everyone["anonymous"].get(KIT, headers={"Accept": "application/json"}).status_code == 401


def test_with_another_secret_key_a_member_is_the_same_and_the_seal_another(keeper: Member, settings: Any) -> None:
    before = member_key(keeper), member_seal(keeper)
    settings.SECRET_KEY = "another key, of fifty characters at least, for this one test"  # noqa: S105 - of a test
    assert member_key(keeper) == before[0]
    assert member_seal(keeper) != before[1]
    assert len(before[1]) == 32


def test_every_page_says_whose_it_is(everyone: dict[str, Client], keeper: Member) -> None:
    assert f'data-member="{member_key(keeper)}"' in everyone["keeper"].get(reverse("costing:more")).content.decode()
    assert 'data-member=""' in everyone["anonymous"].get(reverse("account_login")).content.decode()
    assert "data-member" not in everyone["keeper"].get(WAITING).content.decode()


@pytest.mark.parametrize(
    ("script", "address"),
    [("outbox.js", KIT), ("log.js", WAITING), ("phone.js", WORKER), ("log.js", reverse("account_login"))],
)
def test_a_script_spells_an_address_as_it_is(script: str, address: str) -> None:
    assert re.search(rf"[\"`]{re.escape(address)}[\"?]", (STATIC / script).read_text())


@pytest.mark.parametrize("whose", ["colleague", "coordinator"])
def test_an_entry_is_held_against_the_session_of_its_very_request(
    whose: str, everyone: dict[str, Client], car: Car, keeper: Member
) -> None:
    """Whoever knows another member's key gets nothing by it, and what is kept is nobody else's."""
    headers = {"Accept": "application/json", "X-Member": member_key(keeper)}
    answer = everyone[whose].post(LOGS[0], {"amount": "1"}, headers=headers)
    assert (answer.status_code, answer.content) == (409, b"{}")
    assert everyone["anonymous"].post(LOGS[0], {"amount": "1"}, headers=headers).content == b"{}"
    assert not Fill.objects.filter(amount=1).exists()
