"""The page /checks/<pk>/void/: a check that no longer counts, and its defects, which stay."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, Defect, WalkaroundCheck
from fleet.queries import last_checks_of
from tests.factories import DefectFactory, WalkaroundCheckFactory
from tests.fleet.keepers import acts

pytestmark = pytest.mark.usefixtures("today")

WHY = {"reason": "it was the other car"}


@pytest.fixture
def check(car: Car) -> WalkaroundCheck:
    WalkaroundCheckFactory.create(car=car, checked_on=date(2026, 3, 2))
    return WalkaroundCheckFactory.create(car=car, checked_on=date(2026, 3, 11))


def page_of(check: WalkaroundCheck) -> str:
    return reverse("fleet:check-void", args=[check.pk])


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_voids_it(everyone: dict[str, Client], check: WalkaroundCheck, who: str, status: int) -> None:
    assert everyone[who].get(page_of(check)).status_code == status
    assert everyone[who].post(page_of(check), WHY).status_code == status
    assert not WalkaroundCheck.objects.filter(voided_at__isnull=False).exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_a_voided_check_is_the_last_no_more_and_twice_is_once(
    everyone: dict[str, Client], check: WalkaroundCheck, who: str
) -> None:
    assert last_checks_of([check.car_id]) == {check.car_id: date(2026, 3, 11)}
    for _ in range(2):
        everyone[who].post(page_of(check), WHY)
    assert last_checks_of([check.car_id]) == {check.car_id: date(2026, 3, 2)}
    assert [record.history_change_reason for record in check.history.all()] == ["Voided: it was the other car", None]
    page = everyone[who].get(reverse("fleet:check-list", args=["QA51ABC"])).content.decode()
    assert page.count('class="voided"') == 1
    assert "Last checked 14 days ago." in page
    told = [("Wren Applegarth", "check", "11 March 2026, 1 point", "voided: it was the other car", True)]
    assert [(*act[:2], act[3], act[4]) for act in acts()] == [
        (*act[:2], act[3], act[4]) for act in (told if who == "coordinator" else [])
    ]


@pytest.mark.parametrize("severity", ["dangerous", "before_next_lesson"])
def test_voiding_a_check_does_not_wish_its_grave_defects_away(
    everyone: dict[str, Client], check: WalkaroundCheck, severity: str
) -> None:
    defect = DefectFactory.create(car=check.car, walkaround=check, severity=severity, point="brakes")
    assert "Defects that it found stay open" in everyone["keeper"].get(page_of(check)).content.decode()
    everyone["keeper"].post(page_of(check), WHY)
    defect.refresh_from_db()
    assert (defect.state, defect.severity, Defect.objects.count()) == ("open", severity, 1)
    assert "Do not use this car for lessons" in everyone["keeper"].get("/cars/QA51ABC/").content.decode()


def test_a_reason_is_needed(everyone: dict[str, Client], check: WalkaroundCheck) -> None:
    page = everyone["keeper"].post(page_of(check), {"reason": " "}).content.decode()
    assert "Not voided yet" in page
    assert not WalkaroundCheck.objects.filter(voided_at__isnull=False).exists()
