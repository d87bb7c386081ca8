"""What a browser is told of every page: to keep nothing of it, and to guard it from other sites."""

import re
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from instructors.models import Member
from tests.addresses import address_of, one_of_each, routes
from tests.factories import (
    InvitationFactory,
)

#: Said by every page that nobody but the browser which asked may keep, or show again without asking.
KEPT_BY_NOBODY = re.compile(r"no-store|private.*no-cache|no-cache.*private")


@pytest.fixture
def known(car: Car, coordinator: Member) -> dict[str, Any]:
    return one_of_each(car, coordinator)


@pytest.mark.parametrize("who", ["keeper", "coordinator", "anonymous"])
def test_no_page_is_kept_where_somebody_else_could_look(
    who: str, everyone: dict[str, Client], known: dict[str, Any]
) -> None:
    pages, shown = [address_of(route, known) for route, _ in routes()], 0
    for address in pages:
        answer = everyone[who].get(address)
        rule = answer.headers.get("Cache-Control", "none at all")
        assert KEPT_BY_NOBODY.search(rule), f"{address}: {rule}"
        assert "public" not in rule, address
        shown += answer.status_code == 200
        if answer.streaming:
            b"".join(answer)  # which closes its file
    # Not only what is missing.
    assert shown > (5 if who == "anonymous" else 50)


def test_neither_is_what_follows_from_a_form(everyone: dict[str, Client], car: Car) -> None:
    address = reverse("costing:fill-log")
    for sent in ({}, {"car": car.pk, "amount": "60"}):
        assert "no-store" in everyone["keeper"].post(address, sent).headers["Cache-Control"]
    assert "no-store" in everyone["keeper"].get("/nowhere/").headers["Cache-Control"]
    stale = Client(enforce_csrf_checks=True)
    refused = stale.post(reverse("account_login"))
    assert refused.status_code == 403
    assert "no-store" in refused.headers["Cache-Control"]


def test_a_photo_is_kept_by_the_browser_that_may_still_see_it(
    everyone: dict[str, Client], known: dict[str, Any], colleague: Member
) -> None:
    address = reverse("fleet:photo", args=[known["photos/"]])
    first = everyone["coordinator"].get(address)
    assert first.headers["Cache-Control"] == "private, no-cache"
    assert b"".join(first) == b"a picture"
    again = everyone["coordinator"].get(address, headers={"if-none-match": first.headers["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["Cache-Control"] == "private, no-cache"
    seen_by_somebody_else = everyone["colleague"].get(address, headers={"if-none-match": first.headers["ETag"]})
    assert seen_by_somebody_else.status_code == 404
    assert everyone["keeper"].get(reverse("fleet:photo", args=[uuid4()])).status_code == 404


def test_static_files_are_left_to_be_kept() -> None:
    answer = Client().get("/static/app.css")
    assert answer.status_code == 200
    assert b"".join(answer)
    assert "no-store" not in answer.headers.get("Cache-Control", "")


@pytest.mark.parametrize("name", ["costing:home", "account_login", "costing:export"])
def test_other_sites_and_the_device_are_kept_out(name: str, everyone: dict[str, Client]) -> None:
    headers = everyone["keeper"].get(reverse(name), follow=True).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert "camera=()" in headers["Permissions-Policy"]
    assert "geolocation=()" in headers["Permissions-Policy"]
    assert "default-src 'self'" in headers["Content-Security-Policy"]


def test_an_invitation_s_address_goes_to_nobody_as_where_one_came_from(db: None) -> None:
    """Not to the book's own pages either, whose server might write it down. The form's origin must still be told."""
    answer = Client().get(reverse("instructors:accept-invitation", args=["none"]))
    assert answer.headers["Referrer-Policy"] == "strict-origin"


def test_what_is_said_once_is_not_kept_in_a_cookie(everyone: dict[str, Client], car: Car, coordinator: Member) -> None:
    invitation = InvitationFactory.create(invited_by=coordinator)
    client = everyone["coordinator"]
    answer = client.post(reverse("instructors:invitation-withdraw", args=[invitation.pk]))
    assert set(client.cookies) <= {"sessionid", "csrftoken"}
    assert invitation.name not in str(answer.cookies)
    assert invitation.name in client.get(reverse("instructors:people")).content.decode()


def test_the_one_worker_keeps_files_and_one_page_that_is_nobody_s() -> None:
    """A service worker could keep pages that nobody may keep."""
    scripts = {path.name: path.read_text() for path in (Path(__file__).resolve().parents[2] / "static").rglob("*.js")}
    assert [name for name, text in scripts.items() if "serviceWorker.register" in text] == ["phone.js"]
    kept = [part for text in scripts.values() for part in re.findall(r"\bcache\.(?:put|add|addAll)\([^)]*\)", text)]
    assert kept == ["cache.addAll(files)", "cache.put(shell, page)", "cache.add(path)"]
    assert "for (const path of later) if (!(await cache.match(path))) await cache.add(path);" in scripts["worker.js"]
    assert scripts["worker.js"].count(".put(") == 2
    assert "later.includes(path)) await (await caches.open(NAME)).put(path" in scripts["worker.js"]
    assert 'fetch(shell, { credentials: "omit"' in scripts["worker.js"]
    assert not [name for name, text in scripts.items() if re.search(r"\b(local|session)Storage\b", text)]
