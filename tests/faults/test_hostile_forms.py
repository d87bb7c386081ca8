"""Every field of every form and every parameter of every address, given what no honest person would type.

The forms are found on the pages themselves, so a new one is tried as soon as there is an address for it.
"""

import re
import time
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import quote, urlencode

import pytest
from django.db import transaction
from django.test import Client
from django.urls import NoReverseMatch, get_resolver, reverse

from fleet.models import Car
from instructors.models import Member
from tests.addresses import taken
from tests.factories import (
    AgreementFactory,
    CheckPointFactory,
    ComparisonFactory,
    CostEntryFactory,
    DefectFactory,
    DueItemFactory,
    FillFactory,
    InvitationFactory,
    OdometerReadingFactory,
    OfferFactory,
    TeachingRecordFactory,
    ValuationFactory,
    WalkaroundCheckFactory,
)

ROOT = Path(__file__).resolve().parent.parent.parent
#: Of this process: longer than any page may take. Most of them take a hundredth of it.
MOST_SECONDS = 2
HOSTILE = ["1e99999999", "٣", "9" * 19, "9" * 10_000, "a\0b", "x\r\nBcc: a@b.example", "9999-12-31"]
#: Of one form, so many fields are tried alone: a group of a check has some thirty that are all alike.
FIELDS = 5
ASKED_FOR = re.compile(r"""request\.GET\.get\("([\w-]+)""")
TYPED = {"text", "number", "date", "email", "search", "tel", "password", "textarea"}


class Form(NamedTuple):
    """A form of a page: where it leads, how, and its fields with what is filled in; the typed ones by name."""

    action: str
    method: str
    filled: dict[str, str]
    typed: set[str]


class FormReader(HTMLParser):
    """Collects the forms of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.forms.append(Form(told.get("action", ""), told.get("method", "get").lower(), {}, set()))
        elif self.forms and told.get("name") and tag in {"input", "textarea", "select", "button"}:
            kind = told.get("type", "text") if tag == "input" else tag
            form = self.forms[-1]
            if kind == "file" or (kind in {"radio", "checkbox"} and told["name"] in form.filled):
                return
            form.filled[told["name"]] = told.get("value", "")
            if kind in TYPED:
                form.typed.add(told["name"])


@pytest.fixture
def world(today: Any, car: Car, coordinator: Member) -> dict[str, set[Any]]:
    """A book in which a coordinator has one of everything; by the name of a parameter, what it may be."""
    Car.objects.filter(pk=car.pk).update(keeper=coordinator)
    car.keeper = coordinator
    comparison = ComparisonFactory.create(member=coordinator)
    rows = [
        AgreementFactory.create(car=car),
        CheckPointFactory.create(),
        comparison,
        CostEntryFactory.create(car=car, member=coordinator),
        DefectFactory.create(car=car),
        DueItemFactory.create(car=car),
        FillFactory.create(car=car, member=coordinator),
        InvitationFactory.create(),
        OdometerReadingFactory.create(car=car),
        OfferFactory.create(comparison=comparison),
        TeachingRecordFactory.create(car=car, member=coordinator),
        ValuationFactory.create(car=car),
        WalkaroundCheckFactory.create(car=car),
        coordinator,
    ]
    return {
        "pk": {row.pk for row in rows},
        "mark": {car.registration},
        "kind": {"cost", "fill", "teaching"},
        "step": {"money", "car", "use", "end", "terms"},
        "name": {"lesson"},
        "ref": {"7b1f3f0e-38b5-4b64-9d0b-0f3a5b0a4f11"},
        "group": {"outside", "tuition"},
    }


@pytest.fixture
def visitor(coordinator: Member) -> Client:
    """The coordinator's; what goes wrong on the server is an answer like any other."""
    client = Client(raise_request_exception=False)
    client.force_login(coordinator)
    return client


def own_patterns() -> Iterator[tuple[str, tuple[str, ...]]]:
    """Name and parameters of each address that has a name, those of signing in included."""
    for resolver in get_resolver().url_patterns:
        if getattr(resolver, "namespace", None) == "admin":
            continue
        for pattern in getattr(resolver, "url_patterns", ()):
            if getattr(pattern, "name", None):
                name = f"{resolver.namespace}:{pattern.name}" if resolver.namespace else pattern.name
                yield name, tuple(pattern.pattern.converters)


def addresses(world: dict[str, set[Any]]) -> Iterator[str]:
    """Every address that the world has something at, and a few that it has nothing at."""
    for name, parameters in own_patterns():
        found = [{}]
        for parameter in parameters:
            values = sorted(world.get(parameter, {"x"}), key=str)
            found = [{**one, parameter: value} for one in found for value in values]
        for one in found:
            try:
                yield reverse(name, kwargs=one)
            except NoReverseMatch:
                continue


def ask(visitor: Client, method: str, address: str, data: dict[str, str] | None = None) -> Any:
    """The answer, whatever it changed being put back; AssertionError if it is an error of ours, or slow."""
    started = time.process_time()
    before = transaction.savepoint()
    if method == "post":
        response = visitor.post(address, data)
    else:
        response = visitor.get(f"{address}?{urlencode(data)}" if data else address)
    transaction.savepoint_rollback(before)
    taken(response)
    took = time.process_time() - started
    what = f"{method} {address[:80]} { ({name: value[:30] for name, value in (data or {}).items()}) }"[:2_000]
    assert response.status_code < 500, f"{response.status_code}: {what}"
    assert took < MOST_SECONDS, f"{took:.1f} s: {what}"
    return response


def forms_of(response: Any) -> list[Form]:
    if response.status_code != 200 or "html" not in response["Content-Type"]:
        return []
    reader = FormReader()
    reader.feed(response.content.decode())
    return reader.forms


def test_no_form_stumbles_over_what_is_sent(world: dict[str, set[Any]], visitor: Client) -> None:
    """All that is typed at once, and one field alone, which goes further; a choice, too, may be sent as anything."""
    tried: set[tuple[str, frozenset[str]]] = set()
    for address in addresses(world):
        for form in forms_of(ask(visitor, "get", address)):
            to, names = form.action or address, frozenset(form.filled)
            if (to, names) in tried or "logout" in to:
                continue
            tried.add((to, names))
            for value in HOSTILE if form.typed else ():
                ask(visitor, form.method, to, form.filled | dict.fromkeys(form.typed, value))
            for name in list(form.filled)[:FIELDS]:
                ask(visitor, form.method, to, form.filled | {name: "1e99999999" if name in form.typed else "a\0b"})
    assert len(tried) > 30, tried


def test_no_parameter_of_an_address_is_too_much(world: dict[str, set[Any]], visitor: Client) -> None:
    sources = [path.read_text() for app in ("costing", "fleet", "instructors") for path in (ROOT / app).rglob("*.py")]
    names = {name for source in sources for name in ASKED_FOR.findall(source)}
    assert {"page", "month", "kind"} <= names
    for address in addresses(world):
        if address.endswith("/sheet/"):
            continue  # paper of the page beside it, and slow to draw
        for value in ("9" * 20, "9" * 5_000, "9999-12"):
            ask(visitor, "get", address, dict.fromkeys(names, value))


@pytest.mark.parametrize("digits", [f"{2**31}", f"{2**63}", f"{2**64}", "1" + "0" * 30, "9" * 5_000])
def test_nothing_is_at_a_number_beyond_the_largest(digits: str, world: dict[str, set[Any]], visitor: Client) -> None:
    places = [(name, params) for name, params in own_patterns() if "pk" in params]
    assert places
    for name, parameters in places:
        usual = {key: min(world.get(key, {"x"}), key=str) for key in parameters if key != "pk"}
        try:
            address = reverse(name, kwargs=usual | {"pk": 987654321})
        except NoReverseMatch:
            continue
        for method in ("get", "post"):
            response = ask(visitor, method, address.replace("987654321", digits))
            # What is gone already is no fault of whoever takes it out once more; and some pages ask first who it is.
            asks_who = "/account/again/" in response.headers.get("Location", "")
            calm = {302} if asks_who else {303} if name == "fleet:reading-remove" else set()
            assert response.status_code in {404, 405} | calm, f"{response.status_code}: {name}"


def test_nothing_is_at_an_address_with_a_nul(world: dict[str, set[Any]], visitor: Client) -> None:
    for name, parameters in own_patterns():
        if {"mark", "kind", "step", "name", "token", "key", "uidb36"} & set(parameters):
            usual = {key: 1 if key == "pk" else "zzznulzzz" for key in parameters}
            try:
                address = reverse(name, kwargs=usual)
            except NoReverseMatch:
                continue
            response = ask(visitor, "get", address.replace("zzznulzzz", quote("a\0b")))
            assert response.status_code == 400, name


def test_a_cookie_with_a_nul_is_nobodys(visitor: Client) -> None:
    visitor.cookies["sessionid"] = "aaaaaaaaaaaa\0"
    assert ask(visitor, "get", reverse("costing:home")).status_code == 400
