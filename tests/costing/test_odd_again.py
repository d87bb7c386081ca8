"""The button that takes a dismissal back."""

import pytest
from django.test import Client
from django.urls import reverse

from costing.actions import take_back
from costing.models import Dismissal
from fleet.models import Car
from tests.costing.odd_books import insure
from tests.costing.pages import shown
from tests.factories import DismissalFactory

LIST = reverse("costing:odd-list")

pytestmark = pytest.mark.usefixtures("today")


def test_it_is_shown_again_and_the_history_stays(everyone: dict[str, Client], car: Car) -> None:
    insure(car)
    dismissal = DismissalFactory.create(car=car)
    again = reverse("costing:odd-again", args=[dismissal.pk])
    assert f'action="{again}"' in everyone["keeper"].get(LIST).content.decode()
    response = everyone["keeper"].post(again)
    assert (response.status_code, response.url) == (303, LIST)
    page = shown(everyone["keeper"], LIST)
    assert "It is shown again." in page
    assert "One thing looks odd: insurance" in page
    last = Dismissal.history.first()
    assert (last.history_type, last.history_user, last.reason) == ("-", car.keeper, "The car stood in the garage")


def test_only_ones_own_can_be_taken_back(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    dismissal = DismissalFactory.create(car=car)
    for who in ("colleague", "coordinator"):
        assert everyone[who].post(reverse("costing:odd-again", args=[dismissal.pk])).status_code == 404
    with pytest.raises(PermissionError):
        take_back(by=colleague_car.keeper, dismissal=dismissal)
    assert Dismissal.objects.filter(pk=dismissal.pk).exists()
