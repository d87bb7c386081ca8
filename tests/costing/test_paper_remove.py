"""The page /papers/<uuid>/remove/: a paper goes, with its file. Who may is asked in the matrix too."""

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Paper
from instructors.models import Member
from tests.costing.papers import asked, made

pytestmark = pytest.mark.usefixtures("today", "files_folder")


def test_it_shows_which_and_removes_it(everyone: dict[str, Client], keeper: Member) -> None:
    paper, other = made(keeper), asked(keeper, kind="year")
    path = reverse("costing:paper-remove", args=[paper.pk])
    assert "Its file is deleted" in everyone["keeper"].get(path).content.decode()
    answer = everyone["keeper"].post(path)
    assert answer.url == reverse("costing:paper-list")
    assert "The paper was removed." in everyone["keeper"].get(answer.url).content.decode()
    assert list(Paper.objects.all()) == [other]
    assert everyone["keeper"].post(path).status_code == 404


def test_one_that_waits_is_not_made(everyone: dict[str, Client], keeper: Member) -> None:
    path = reverse("costing:paper-remove", args=[asked(keeper).pk])
    assert "It is then not made" in everyone["keeper"].get(path).content.decode()


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_nobody_else_removes_it(everyone: dict[str, Client], keeper: Member, who: str) -> None:
    assert everyone[who].post(reverse("costing:paper-remove", args=[made(keeper).pk])).status_code == 404
    assert Paper.objects.count() == 1
