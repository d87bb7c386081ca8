"""A car's card on the page and on paper, and the page that its code opens."""

import re
from datetime import date
from io import BytesIO
from typing import Any

import pytest
import segno
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from config.qr import code_of
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown
from tests.factories import CarFactory, KeeperTimeFactory

LOG, CARD, SHEET = (reverse(f"costing:{name}", args=["QA51ABC"]) for name in ("car-log", "car-card", "car-card-sheet"))

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture(autouse=True)
def _has_an_address(settings: Any) -> None:
    settings.SITE_URL = "https://book.example"


@pytest.mark.parametrize("address", [LOG, CARD, SHEET])
@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("coordinator", 404), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_a_car_and_its_card_are_its_keepers(
    everyone: dict[str, Client], car: Car, address: str, who: str, status: int
) -> None:
    assert everyone[who].get(address).status_code == status


def test_whoever_is_not_signed_in_signs_in_and_comes_back(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["anonymous"].get(LOG).url == f"{reverse('account_login')}?next={LOG}"


def test_a_former_keeper_gets_in_no_more(everyone: dict[str, Client], car: Car, colleague: Member) -> None:
    KeeperTimeFactory(car=car, to_on="2026-02-10")
    KeeperTimeFactory(car=car, keeper=colleague, from_on="2026-02-11")
    car.keeper = colleague
    car.save()
    assert [everyone[who].get(LOG).status_code for who in ("keeper", "colleague")] == [404, 200]


def test_every_way_to_log_has_that_car_chosen(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    CarFactory(keeper=keeper, registration="QA11AAA")
    page = everyone["keeper"].get(LOG).content.decode()
    for to in ("/fills/new/", "/costs/new/", "/lessons/new/"):
        assert f'href="{to}?car=QA51ABC"' in page
        for mark in ("QA51ABC", "QA11AAA"):
            opened = everyone["keeper"].get(f"{to}?car={mark}")
            assert opened.context["form"]["car"].value() == mark
            assert f'<option value="{mark}" selected>' in opened.content.decode()
    assert f'href="{reverse("fleet:check-record", args=["QA51ABC"])}"' in page
    assert f'href="{reverse("fleet:odometer-add", args=["QA51ABC"])}"' in page


def test_a_car_out_of_service_is_not_checked(everyone: dict[str, Client], car: Car) -> None:
    car.in_service_to = date(2026, 3, 15)
    car.save()
    assert reverse("fleet:check-record", args=["QA51ABC"]) not in everyone["keeper"].get(LOG).content.decode()


def test_the_card_says_the_address_that_its_code_says(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(CARD).content.decode()
    assert f'aria-label="QR code: https://book.example{LOG}"' in page
    assert f'<path d="{code_of(f"https://book.example{LOG}").path}" />' in page
    assert f"book.example{LOG}" in shown(everyone["keeper"], CARD)
    assert "no phone can open" not in page


def test_an_address_of_this_machine_is_said_to_lead_nowhere(
    everyone: dict[str, Client], car: Car, settings: Any
) -> None:
    settings.SITE_URL = "http://localhost:8000"
    assert "This book is at an address that no phone can open." in shown(everyone["keeper"], CARD)


def test_the_sheet_is_one_page_that_has_the_card_twice(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].get(SHEET)
    assert response["Content-Disposition"] == 'inline; filename="QA51_ABC_card.pdf"'
    [page] = PdfReader(BytesIO(response.content)).pages
    text = " ".join(page.extract_text().split())
    assert text.count("Log a fill, a cost or lessons, or check the car") == 2
    assert [round(float(side)) for side in page.mediabox[2:]] == [595, 842]  # A4, in points


@given(st.text(alphabet="abcXYZ0123456789/:.-", min_size=1, max_size=120))
def test_what_is_drawn_is_the_code_square_by_square_with_its_margin(text: str) -> None:
    code = code_of(text)
    dark = {
        (int(x) + at, int(y))
        for x, y, width in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\3z", code.path)
        for at in range(int(width))
    }
    rows = segno.make_qr(text, error="q").matrix
    assert dark == {(x + 4, y + 4) for y, row in enumerate(rows) for x, is_dark in enumerate(row) if is_dark}
    assert code.side == len(rows) + 8
    assert code.path == "".join(re.findall(r"M\d+ \d+h\d+v1h-\d+z", code.path))
