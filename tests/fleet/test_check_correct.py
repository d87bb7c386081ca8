"""The page /checks/<pk>/: a check that was entered wrongly, corrected; its history stands below."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, WalkaroundCheck
from instructors.models import Member
from tests.factories import DefectFactory, WalkaroundCheckFactory
from tests.fleet.keepers import acts

pytestmark = pytest.mark.usefixtures("today")

TYPED = {"checked_on": "2026-03-09", "points": ["lamps", "horn"], "note": "In the rain"}


@pytest.fixture
def check(car: Car) -> WalkaroundCheck:
    """The keeper's of 11 March, of three points."""
    return WalkaroundCheckFactory.create(car=car, checked_on=date(2026, 3, 11), points=["lamps", "horn", "wipers"])


def page_of(check: WalkaroundCheck) -> str:
    return reverse("fleet:check-correct", args=[check.pk])


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_finds_it(everyone: dict[str, Client], check: WalkaroundCheck, who: str, status: int) -> None:
    assert everyone[who].get(page_of(check)).status_code == status
    assert everyone[who].post(page_of(check), TYPED).status_code == status
    assert check.history.count() == 1


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_whoever_recorded_it_and_a_coordinator_correct_it_and_the_keeper_is_told(
    everyone: dict[str, Client], check: WalkaroundCheck, who: str
) -> None:
    assert page_of(check) in everyone[who].get(reverse("fleet:check-list", args=["QA51ABC"])).content.decode()
    for _ in range(2):
        assert everyone[who].post(page_of(check), TYPED).url == reverse("fleet:check-list", args=["QA51ABC"])
    check.refresh_from_db()
    assert (check.checked_on, check.points, check.note) == (date(2026, 3, 9), ["lamps", "horn"], "In the rain")
    assert [record.history_change_reason for record in check.history.all()] == ["Corrected", None]
    told = [("Wren Applegarth", "check", "11 March 2026, 3 points", "9 March 2026, 2 points", True)]
    assert acts() == (told if who == "coordinator" else [])
    page = everyone[who].get(page_of(check)).content.decode()
    for words in ("Checked on: 11 March 2026 became 9 March 2026", "Points: 3 points became 2 points"):
        assert words in page
    assert "Is whole" not in page


def test_a_keeper_does_not_correct_what_a_coordinator_recorded(
    everyone: dict[str, Client], car: Car, coordinator: Member
) -> None:
    check = WalkaroundCheckFactory.create(car=car, member=coordinator)
    assert everyone["keeper"].get(page_of(check)).status_code == 404
    assert page_of(check) not in everyone["keeper"].get(reverse("fleet:check-list", args=["QA51ABC"])).content.decode()


def test_no_point_is_added_by_a_correction(everyone: dict[str, Client], check: WalkaroundCheck) -> None:
    refused = everyone["keeper"].post(page_of(check), TYPED | {"points": ["lamps", "tyre_walls"]})
    assert set(refused.context["form"].errors) == {"points"}
    check.refresh_from_db()
    assert check.points == ["lamps", "horn", "wipers"]


@pytest.mark.parametrize(
    ("change", "field", "why"),
    [
        ({"checked_on": "2026-03-17"}, "checked_on", "17 March 2026 has not come yet: today is 16 March 2026."),
        ({"points": []}, "points", "Leave at least one point, or void the check."),
        ({"points": ["horn"]}, "points", "A defect was found there, so it was looked at: "),
    ],
)
def test_what_cannot_be_is_refused(
    everyone: dict[str, Client], check: WalkaroundCheck, change: dict[str, object], field: str, why: str
) -> None:
    DefectFactory.create(car=check.car, walkaround=check, point="lamps")
    refused = everyone["keeper"].post(page_of(check), TYPED | change)
    assert refused.context["form"].errors[field][0].startswith(why)
    check.refresh_from_db()
    assert check.checked_on == date(2026, 3, 11)


def test_a_voided_one_shows_its_history_alone(everyone: dict[str, Client], check: WalkaroundCheck) -> None:
    everyone["keeper"].post(reverse("fleet:check-void", args=[check.pk]), {"reason": "wrong car"})
    page = everyone["keeper"].get(page_of(check)).content.decode()
    assert "This was voided and no longer counts." in page
    assert "Voided: wrong car" in page
    assert 'name="checked_on"' not in page
    everyone["keeper"].post(page_of(check), TYPED)
    check.refresh_from_db()
    assert check.checked_on == date(2026, 3, 11)
