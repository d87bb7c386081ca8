"""The sheet at /due/sheet/: the board on paper."""

import io
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from config import budgets
from costing import tasks
from fleet.models import Car
from instructors.models import Cooperative, Member
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


@pytest.fixture
def _few_at_once(monkeypatch: pytest.MonkeyPatch, files_folder: Path) -> None:
    monkeypatch.setattr(budgets, "CARS_AT_ONCE", 1)


@pytest.mark.usefixtures("_few_at_once", "car", "colleague_car")
def test_of_many_cars_it_is_asked_for_by_a_key_and_made_by_the_worker(everyone: dict[str, Client]) -> None:
    coordinator = everyone["coordinator"]
    page = coordinator.get(SHEET).content.decode()
    assert "This is a long one: 2 cars." in page
    asked = coordinator.post(SHEET)
    assert asked.status_code == 303
    assert coordinator.post(SHEET).url == asked.url, "the same one is not made twice"
    tasks.make_paper(asked.url.rstrip("/").rsplit("/", 1)[-1])
    assert "Cars, 16 March 2026" in coordinator.get(asked.url).content.decode()
    sheet = text_of(coordinator.get(f"{asked.url}file/"))
    assert "QA51 ABC" in sheet
    assert "QB02 XYZ" in sheet
    assert everyone["keeper"].get(f"{asked.url}file/").status_code == 404


@pytest.mark.usefixtures("_few_at_once")
def test_a_long_one_keeps_to_the_filters_and_to_what_its_member_may_see(
    everyone: dict[str, Client], keeper: Member, car: Car, colleague_car: Car
) -> None:
    CarFactory(keeper=keeper, registration="QC03QQQ")
    for who, query, marks in (
        ("coordinator", "?q=qb02+%26+more", set()),
        ("coordinator", "?q=qb02", {"QB02 XYZ"}),
        ("keeper", "", {"QA51 ABC", "QC03 QQQ"}),
    ):
        asked = everyone[who].post(f"{SHEET}{query}")
        tasks.make_paper(asked.url.rstrip("/").rsplit("/", 1)[-1])
        sheet = text_of(everyone[who].get(f"{asked.url}file/"))
        assert {mark for mark in ("QA51 ABC", "QB02 XYZ", "QC03 QQQ") if mark in sheet} == marks


@pytest.mark.usefixtures("_few_at_once", "car", "colleague_car")
def test_one_too_many_is_refused_with_a_sentence(everyone: dict[str, Client], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(budgets, "PAPERS_WAITING", 1)
    everyone["coordinator"].post(SHEET)
    answer = everyone["coordinator"].post(f"{SHEET}?state=off", follow=True)
    assert "being made for you already" in answer.content.decode()


def made_of(asked: Any) -> str:
    """The address of a paper's file, once it is made."""
    tasks.make_paper(asked.url.rstrip("/").rsplit("/", 1)[-1])
    return f"{asked.url}file/"


@pytest.mark.usefixtures("_few_at_once", "car")
def test_without_the_second_factor_a_coordinators_list_has_their_own_cars_alone(
    everyone: dict[str, Client], coordinator: Member
) -> None:
    CarFactory(keeper=coordinator, registration="QC03QQQ")
    Cooperative.objects.update_or_create(pk=1, defaults={"coordinators_need_second_factor": True})
    sheet = text_of(everyone["coordinator"].get(made_of(everyone["coordinator"].post(SHEET))))
    assert "QC03 QQQ" in sheet
    assert "QA51 ABC" not in sheet


@pytest.mark.usefixtures("_few_at_once", "car", "colleague_car")
@pytest.mark.parametrize("is_made_first", [True, False])
def test_whoever_is_no_coordinator_any_more_opens_no_list_of_theirs(
    everyone: dict[str, Client], coordinator: Member, is_made_first: bool
) -> None:
    asked = everyone["coordinator"].post(SHEET)
    if is_made_first:
        assert everyone["coordinator"].get(made_of(asked)).status_code == 200
    Member.objects.filter(pk=coordinator.pk).update(role="member")
    file = made_of(asked)
    assert everyone["coordinator"].get(file).status_code == everyone["coordinator"].get(asked.url).status_code == 404
    assert asked.url not in everyone["coordinator"].get(reverse("costing:paper-list")).content.decode()


@pytest.mark.usefixtures("_few_at_once", "car", "colleague_car")
def test_more_cars_than_a_list_may_have_are_to_be_filtered_first(
    everyone: dict[str, Client], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budgets, "CARS_OF_PAPER", 1)
    for ask in (everyone["coordinator"].get, everyone["coordinator"].post):
        assert "A printed list has 1 cars at most, and this one 2." in ask(SHEET, follow=True).content.decode()
