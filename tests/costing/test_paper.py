"""The page /papers/<uuid>/: how far a paper is, and the way to its file."""

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from instructors.models import Member
from tests.costing.papers import asked, made

pytestmark = pytest.mark.usefixtures("today", "files_folder")


def page(client: Client, paper: object, *, htmx: bool = False) -> str:
    headers = {"hx-request": "true"} if htmx else {}
    answer = client.get(reverse("costing:paper", args=[paper.pk]), headers=headers)
    assert answer.status_code == 200
    return answer.content.decode()


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, "Waits for its turn"),
        ({"state": "making"}, "Has just begun"),
        ({"state": "making", "page": 7, "pages": 12}, "Page 7 of about 12"),
    ],
)
def test_it_says_how_far_it_is_and_asks_again(
    everyone: dict[str, Client], keeper: Member, fields: dict[str, object], words: str
) -> None:
    found = page(everyone["keeper"], asked(keeper, **fields))
    assert words in found
    assert 'hx-trigger="every 2s"' in found
    assert "Look again" in found
    assert ("<progress" in found) is ("page" in fields)


def test_htmx_gets_the_part_that_changes_alone(everyone: dict[str, Client], keeper: Member) -> None:
    found = page(everyone["keeper"], asked(keeper), htmx=True)
    assert "Waits for its turn" in found
    assert "<html" not in found


def test_once_made_it_leads_to_the_file_and_asks_no_more(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    paper = made(keeper, car=car)
    found = page(everyone["keeper"], paper)
    assert "Made today at 12:00" in found
    assert reverse("costing:paper-file", args=[paper.pk]) in found
    assert "hx-trigger" not in found
    assert "Statement, March 2021 to February 2026, QA51 ABC" in found


def test_a_month_is_called_by_its_name(everyone: dict[str, Client], keeper: Member) -> None:
    assert "Statement, February 2026" in page(everyone["keeper"], asked(keeper, first="2026-02-01", last="2026-02-28"))


def test_why_it_was_not_made_is_said(everyone: dict[str, Client], keeper: Member) -> None:
    found = page(everyone["keeper"], asked(keeper, state="failed", error="Too many rows for one paper."))
    assert "Too many rows for one paper." in found
    assert "hx-trigger" not in found


def test_a_book_restored_without_its_files_says_so(everyone: dict[str, Client], keeper: Member) -> None:
    paper = made(keeper)
    paper.file.storage.delete(paper.file.name)
    found = page(everyone["keeper"], paper)
    assert "Its file is gone" in found
    assert reverse("costing:paper-file", args=[paper.pk]) not in found


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_nobody_else_sees_it(everyone: dict[str, Client], keeper: Member, who: str) -> None:
    assert everyone[who].get(reverse("costing:paper", args=[asked(keeper).pk])).status_code == 404
