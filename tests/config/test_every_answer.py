"""What holds of every answer of the book, whoever asks for whichever address: headers, methods, tokens, ways out."""

import re
from typing import Any

import pytest
from django.apps import apps
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from instructors.models import Member
from tests.addresses import address_of, one_of_each, routes

APPS = {"account", "mfa", "instructors", "fleet", "costing"}
#: That a record was downloaded or looked at is written down, by looking.
WRITTEN_BY_LOOKING = {"instructors.Act", "instructors.ActMail"}
OUTSIDE = ["/static/app.css", "/static/icons/favicon.svg", "/nowhere/", "/static/nothing.css"]


@pytest.fixture
def addresses(car: Car, coordinator: Member) -> list[str]:
    known = one_of_each(car, coordinator)
    return [address_of(route, known) for route, _ in routes()]


def body_of(answer: Any) -> bytes:
    return b"".join(answer) if answer.streaming else answer.content


@pytest.mark.parametrize("who", ["keeper", "coordinator", "anonymous"])
def test_every_answer_says_what_a_browser_may_do_with_it(
    who: str, everyone: dict[str, Client], addresses: list[str]
) -> None:
    for address in addresses + OUTSIDE:
        answer = everyone[who].get(address)
        policy = dict(part.strip().partition(" ")[::2] for part in answer["Content-Security-Policy"].split(";"))
        assert policy["default-src"] == policy["form-action"] == "'self'", address
        assert policy["object-src"] == policy["base-uri"] == policy["frame-ancestors"] == "'none'", address
        assert not {"script-src", "style-src"} & set(policy), "wider than default-src"
        assert answer["X-Content-Type-Options"] == "nosniff", address
        assert answer["Referrer-Policy"] in {"same-origin", "strict-origin", "no-referrer"}, address
        assert not [name for name in answer.headers if name.lower().startswith("access-control-")], address
        if body_of(answer):
            kind, _, charset = answer["Content-Type"].partition("; charset=")
            assert kind, address
            assert charset.strip('"') == "utf-8" or not kind.startswith("text/"), f"{address}: {charset}"


def test_what_is_no_page_has_a_name_of_ours_to_be_kept_by(everyone: dict[str, Client], addresses: list[str]) -> None:
    named = set()
    for address in addresses:
        answer = everyone["keeper"].get(address)
        kind = answer.get("Content-Type", "").partition(";")[0]
        if body_of(answer) and answer.status_code == 200 and kind not in {"text/html", "application/json"}:
            assert re.fullmatch(r'(inline|attachment); filename="[\w.-]+"', answer["Content-Disposition"]), address
            named.add(kind)
    assert named >= {"application/pdf", "image/jpeg", "application/toml"}


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_nothing_is_taken_without_the_token_of_a_page(
    who: str, request: pytest.FixtureRequest, car: Car, addresses: list[str]
) -> None:
    forger = Client(enforce_csrf_checks=True)
    forger.force_login(request.getfixturevalue(who))
    # Whatever watches the server asks for health, and a mail program switches a mail off (RFC 8058): neither has a page
    # to take a token from. The address of the second is signed, and says all that it does.
    without = (reverse("fleet:health"), "/log-mail/")
    asked = [address for address in addresses if not address.startswith(without)]
    taken = {address: forger.post(address, {"name": "x"}).status_code for address in asked}
    assert {address: status for address, status in taken.items() if status != 403} == {}
    assert Client(enforce_csrf_checks=True).post(reverse("account_login"), {"login": "x"}).status_code == 403


@pytest.mark.parametrize("who", ["keeper", "coordinator", "anonymous"])
def test_looking_at_any_address_changes_nothing(who: str, everyone: dict[str, Client], addresses: list[str]) -> None:
    def book() -> dict[str, list[tuple[Any, ...]]]:
        return {
            model._meta.label: list(model._base_manager.order_by("pk").values_list())
            for model in apps.get_models()
            if model._meta.app_label in APPS and model._meta.label not in WRITTEN_BY_LOOKING
        }

    before = book()
    assert len(before) > 30
    for address in addresses:
        body_of(everyone[who].get(address))
        assert book() == before, address


def test_no_address_answers_to_trace(everyone: dict[str, Client], addresses: list[str]) -> None:
    for address in addresses + OUTSIDE:
        answer = everyone["keeper"].generic("TRACE", address, headers={"X-Mine": "an echo"})
        # allauth says of a link that is over that it is, whatever the method; nothing says what was asked.
        assert b"an echo" not in body_of(answer) + answer.serialize_headers(), address
        assert answer.get("Content-Type") != "message/http"


def test_every_page_of_whoever_is_signed_in_has_the_way_out(
    everyone: dict[str, Client], addresses: list[str], car: Car
) -> None:
    """One step away: every page leads to the place where one signs out."""
    to_more, found = f'href="{reverse("costing:more")}"', 0
    for address in addresses:
        answer = everyone["keeper"].get(address)
        page = body_of(answer).decode(errors="replace")
        if answer.status_code == 200 and "<html" in page:
            assert to_more in page, address
            found += 1
    for who in ("keeper", "coordinator"):
        page = everyone[who].get(reverse("costing:more")).content.decode()
        assert f'action="{reverse("account_logout")}"' in page
        assert "Sign out</button>" in page
    assert found > 30


@pytest.mark.parametrize(
    "path",
    [
        *("/.git/HEAD", "/.env", "/var/book.sqlite3", "/config/settings.py", "/static/", "/static/icons/"),
        *("/static/../config/settings.py", "/static/%2e%2e/config/settings.py", "/files/", "/media/"),
    ],
)
def test_no_folder_is_listed_and_nothing_beside_the_static_files_is_served(
    path: str, everyone: dict[str, Client], car: Car
) -> None:
    for client in everyone.values():
        answer = client.get(path)
        assert answer.status_code == 404
        assert not re.search(r"SECRET_KEY|app\.css</a>|Index of", body_of(answer).decode())


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example"])
def test_signing_in_leads_to_no_other_site(elsewhere: str, keeper: Member) -> None:
    keeper.set_password("a long enough phrase 7")
    keeper.save()
    sent = {"login": keeper.email, "password": "a long enough phrase 7", "next": elsewhere}
    assert Client().post(reverse("account_login"), sent).url == reverse("costing:home")


def test_what_stands_in_the_address_is_no_part_of_a_form(everyone: dict[str, Client], keeper: Member) -> None:
    """A link that somebody is sent must not fill in for them what their form left out."""
    address = reverse("fleet:car-add") + "?registration=QC51ABC&name=x"
    assert everyone["keeper"].post(address, {"description": "Blue hatchback"}).status_code == 200
    assert not Car.objects.filter(registration="QC51ABC").exists()
