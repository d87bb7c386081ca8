"""Dismissing what looks odd, with a reason."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from costing.actions import dismiss
from costing.models import CostEntry, Dismissal
from fleet.models import Car
from tests.costing.odd_books import insure
from tests.costing.pages import shown, text_of
from tests.factories import DismissalFactory

LIST = reverse("costing:odd-list")

pytestmark = pytest.mark.usefixtures("today")


def address(car: Car, key: str = "insurance:2026-03-10", kind: str = "cover") -> str:
    return reverse("costing:odd-dismiss", args=[car.registration, kind, key])


def test_it_says_what_is_dismissed_and_asks_why(everyone: dict[str, Client], car: Car) -> None:
    insure(car)
    page = shown(everyone["keeper"], address(car))
    assert "Insurance: nothing since 10 March 2026" in page
    assert f'href="{address(car)}"' in everyone["keeper"].get(LIST).content.decode()
    response = everyone["keeper"].post(address(car), {"reason": " "})
    assert "Not dismissed yet" in text_of(response)
    assert not Dismissal.objects.exists()


def test_it_is_kept_with_the_reason_who_and_when(everyone: dict[str, Client], car: Car) -> None:
    insure(car)
    response = everyone["keeper"].post(address(car), {"reason": "Paid by the garage"})
    assert (response.status_code, response.url) == (303, LIST)
    dismissal = Dismissal.objects.get()
    assert (dismissal.member, dismissal.car, dismissal.reason) == (car.keeper, car, "Paid by the garage")
    (change,) = dismissal.history.all()
    assert (change.history_user, change.history_change_reason) == (car.keeper, "Dismissed")
    page = shown(everyone["keeper"], LIST)
    assert "Dismissed. It stands below, with your reason." in page
    assert "Nothing else stands out" in page


def test_twice_is_once_and_the_first_reason_stays(everyone: dict[str, Client], car: Car) -> None:
    insure(car)
    for reason in ("Paid by the garage", "Another"):
        assert everyone["keeper"].post(address(car), {"reason": reason}).status_code == 303
    assert [one.reason for one in Dismissal.objects.all()] == ["Paid by the garage"]
    again = dismiss(by=car.keeper, car=car, kind="cover", key="insurance:2026-03-10", reason="Third")
    assert again.reason == "Paid by the garage"


def test_another_of_its_kind_is_asked_about_again(everyone: dict[str, Client], car: Car) -> None:
    cost = insure(car)
    everyone["keeper"].post(address(car), {"reason": "Paid by the garage"})
    assert "Nothing else stands out" in shown(everyone["keeper"], LIST)
    CostEntry.objects.filter(pk=cost.pk).update(covers_to=date(2026, 3, 10))
    page = shown(everyone["keeper"], LIST)
    assert "One thing looks odd: insurance" in page
    assert "Insurance: nothing since 11 March 2026" in page


def test_what_does_not_stand_out_cannot_be_dismissed(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    insure(car)
    for wrong in (
        address(car, key="insurance:2026-03-11"),
        address(car, kind="economy"),
        address(car, kind="nonsense", key="x" * 300),
        address(colleague_car),
    ):
        assert everyone["keeper"].get(wrong).status_code == 404
        assert everyone["keeper"].post(wrong, {"reason": "because"}).status_code == 404
    for who in ("colleague", "coordinator"):
        assert everyone[who].get(address(car)).status_code == 404
    assert not Dismissal.objects.exists()


@pytest.mark.parametrize("reason", ["x" * 201, "two\nlines"])
def test_a_reason_is_short_and_on_one_line(everyone: dict[str, Client], car: Car, reason: str) -> None:
    insure(car)
    assert everyone["keeper"].post(address(car), {"reason": reason}).status_code == 200
    assert not Dismissal.objects.exists()


def test_somebody_elses_dismissal_hides_nothing(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    insure(car)
    DismissalFactory.create(car=car, member=colleague_car.keeper)
    assert "One thing looks odd: insurance" in shown(everyone["keeper"], LIST)
