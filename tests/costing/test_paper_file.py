"""The file at /papers/<uuid>/file/: to whoever asked for it alone, and kept nowhere on the way."""

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from instructors.models import Member
from tests.costing.papers import asked, made

pytestmark = pytest.mark.usefixtures("today", "files_folder")


def test_it_is_a_pdf_with_a_name_that_nothing_on_the_way_keeps(
    everyone: dict[str, Client], keeper: Member, car: Car
) -> None:
    answer = everyone["keeper"].get(reverse("costing:paper-file", args=[made(keeper, car=car).pk]))
    assert answer.content == b"%PDF words"
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Cache-Control"] == "private, no-store"
    assert 'filename="statement-2021-03-01-to-2026-02-28-QA51ABC.pdf"' in answer["Content-Disposition"]


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("coordinator", 404), ("anonymous", 302)])
def test_nobody_else_gets_it(everyone: dict[str, Client], keeper: Member, who: str, status: int) -> None:
    assert everyone[who].get(reverse("costing:paper-file", args=[made(keeper).pk])).status_code == status


def test_there_is_none_before_it_is_made_nor_where_it_was_lost(everyone: dict[str, Client], keeper: Member) -> None:
    lost = made(keeper)
    lost.file.storage.delete(lost.file.name)
    for paper in (asked(keeper), asked(keeper, state="failed"), lost):
        assert everyone["keeper"].get(reverse("costing:paper-file", args=[paper.pk])).status_code == 404
