"""The address /rent-or-own/file/: two quotes as an offers file, for anybody. Today is Monday 16 March 2026."""

import re
import tomllib

import pytest
from django.test import Client
from django.urls import reverse

from costing.choosing.document.toml import document_in
from tests.costing.pages import text_of

FILE = reverse("costing:rent-or-own-file")
QUOTES = {
    "rent": "168",
    "price": "9000",
    "deposit": "1900",
    "payment": "218",
    "payments": "36",
    "final_payment": "0",
    "fees": "0",
    "insurance": "900",
    "own_fuel": "12.5",
}
USE = {
    "miles_per_year": "20,000",
    "private_miles_per_year": "1500",
    "lesson_hours_per_week": "24",
    "weeks_taught_per_year": "46",
    "lesson_hour_price": "38",
}

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


def test_the_file_has_what_was_typed_and_nothing_else(client: Client) -> None:
    response = client.post(FILE, {**QUOTES, **USE})
    assert response.headers["Content-Disposition"] == 'attachment; filename="rent-or-own.toml"'
    assert response.headers["Cache-Control"] == "private, no-store"
    document = tomllib.loads(response.content.decode())
    assert document["use"]["months"] == 36
    assert document["use"]["miles_per_year"] == 20000
    assert document["running"] == {"insurance": 900.00}
    own, rent = document["offer"]
    assert own == {
        "name": "Your own car",
        "kind": "hire_purchase",
        "price": 9000.00,
        "deposit": 1900.00,
        "payment": 218.00,
        "fees": 0.0,
        "payments": 36,
        "final_payment": 0.00,
        "running": {"fuel_pence_per_mile": 12.5},
    }
    assert (rent["kind"], rent["payment"], rent["payments"]) == ("weekly_rental", 168.00, 156)
    assert "fuel" not in rent["includes"]
    assert document_in("rent-or-own.toml", response.content)["offer"][0]["price"] == 900_000


def test_a_file_of_a_credit_asks_for_its_price_first(client: Client) -> None:
    page = client.post(FILE, {**QUOTES, **USE, "price": ""})
    assert page.headers["Content-Type"].startswith("text/html")
    assert "To keep it, type the cash price too" in text_of(page)


def test_all_that_a_file_needs_is_asked_for_at_once_beside_the_answer(client: Client) -> None:
    page = client.post(FILE, {**QUOTES, "price": "", "miles_per_year": "20,000"})
    note = page.content.decode().split("Before you can keep this, type")[1].split("</p>")[0]
    assert re.findall(r'href="#id_(\w+)"', note) == ["price", *list(USE)[1:]]
    assert "Your own car is cheaper as long as" in text_of(page)
    assert "<details open>" in page.content.decode()


@pytest.mark.parametrize("name", USE)
def test_a_file_asks_for_how_one_teaches(client: Client, name: str) -> None:
    page = client.post(FILE, {**QUOTES, "own_fuel": "", **USE, name: ""}).content.decode()
    row = page.split(f'id="id_{name}_words"')[1].split("</div>")[0]
    assert "A file needs this too, for the cost of a lesson hour." in row


@pytest.mark.parametrize("wrong", [{"deposit": "9500"}, {"private_miles_per_year": "30000"}])
def test_figures_that_do_not_go_together_make_no_file(client: Client, wrong: dict[str, str]) -> None:
    page = client.post(FILE, {**QUOTES, **USE, **wrong})
    assert page.headers["Content-Type"].startswith("text/html")
    assert "Something here cannot be counted yet." in text_of(page)


def test_figures_that_cannot_be_read_make_no_file(client: Client) -> None:
    page = client.post(FILE, {**QUOTES, **USE, "rent": "1e9"})
    assert "Something here cannot be counted yet." in text_of(page)


def test_it_is_no_page_to_look_at(client: Client) -> None:
    assert client.get(FILE).status_code == 405
