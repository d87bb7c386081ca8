"""The sheet at /due/sheet/: the board on paper."""

import io
from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from fleet.models import Car
from instructors.models import Member
from tests.factories import CarFactory, DefectFactory, DueItemFactory, WalkaroundCheckFactory

pytestmark = pytest.mark.usefixtures("today")

SHEET = reverse("fleet:board-sheet")


def text_of(response: Any) -> str:
    assert response.headers["Content-Type"] == "application/pdf"
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(response.content)).pages).split())


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(SHEET).url.startswith(reverse("account_login"))


@pytest.mark.parametrize(
    ("who", "sees"),
    [
        ("keeper", {"QA51 ABC"}),
        ("colleague", {"QB02 XYZ"}),
        ("coordinator", {"QA51 ABC", "QB02 XYZ"}),
        ("stranger", set()),
    ],
)
def test_everybody_prints_what_they_may_see(
    everyone: dict[str, Client], car: Car, colleague_car: Car, who: str, sees: set[str]
) -> None:
    sheet = text_of(everyone[who].get(SHEET))
    assert {mark for mark in ("QA51 ABC", "QB02 XYZ") if mark in sheet} == sees
    assert ("No car is in this list." in sheet) == (not sees)


def test_a_car_is_printed_with_all_that_is_due_on_it(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, due_on=date(2026, 3, 1))
    DueItemFactory(car=car, kind="insurance", due_on=date(2026, 10, 3))
    WalkaroundCheckFactory(car=car)
    DefectFactory(car=car)
    sheet = text_of(everyone["keeper"].get(SHEET))
    assert "cars on 16 March 2026" in sheet
    assert "Off the road: MOT ran out on 1 March 2026" in sheet
    assert "Car MOT Insurance Tax Service Tyres Controls Check Other" in sheet
    # MOT, insurance, tax; nothing recorded of service and controls, no tread read; the check, and the defect.
    assert "1 Mar overdue 3 Oct not known none not known none 5 days Chip in the windscreen" in sheet
    assert "1 off the road." in sheet


def test_the_filter_holds_on_paper_too(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    for one, due_on in ((car, date(2026, 3, 20)), (colleague_car, date(2026, 10, 3))):
        for kind in ("mot", "vehicle_tax", "insurance"):
            DueItemFactory(car=one, kind=kind, due_on=due_on if kind == "mot" else date(2026, 10, 3))
    sheet = text_of(everyone["coordinator"].get(SHEET, {"within": "7"}))
    assert "QA51 ABC" in sheet
    assert "due within 7 days. 1 other car left out." in sheet
    assert "QB02 XYZ" not in sheet


def test_every_filter_of_the_page_holds_on_paper(
    everyone: dict[str, Client], car: Car, colleague_car: Car, colleague: Member
) -> None:
    for asked in ({"q": "qb02"}, {"kept_by": str(colleague.pk)}):
        sheet = text_of(everyone["coordinator"].get(SHEET, asked))
        assert "QB02 XYZ" in sheet
        assert "QA51 ABC" not in sheet
        assert "1 other car left out." in sheet
    assert "No car is in this list." in text_of(everyone["coordinator"].get(SHEET, {"state": "booked"}))


def test_a_long_list_is_printed_whole(everyone: dict[str, Client]) -> None:
    for number in range(60):
        CarFactory(registration=f"QA{number:02d}AAA")
    sheet = text_of(everyone["coordinator"].get(SHEET))
    assert [number for number in range(60) if f"QA{number:02d} AAA" not in sheet] == []


def test_credentials_are_printed_for_coordinators_alone(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    none = f"Neither an ADI registration nor a trainee licence is recorded for {keeper.name}."
    assert none in " ".join(text_of(everyone["coordinator"].get(SHEET)).split())
    DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 4, 1))
    assert "ADI registration 1 April 2026" in text_of(everyone["coordinator"].get(SHEET))
    assert "ADI registration" not in text_of(everyone["keeper"].get(SHEET))


def test_the_page_leads_there_with_its_filter(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(reverse("fleet:car-list"), {"within": "30"}).content.decode()
    assert f'href="{SHEET}?within=30"' in page


def test_of_many_reasons_the_gravest_are_printed_and_how_many_more(everyone: dict[str, Client], car: Car) -> None:
    for number in range(7):
        DefectFactory(car=car, severity="before_next_lesson", description=f"Rattle {number}")
    sheet = text_of(everyone["keeper"].get(SHEET))
    assert "Rattle 4; and 2 more" in sheet
    assert "Rattle 5" not in sheet
