"""The page /due/<pk>/: correcting what is recorded of a due item."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, Confirmation, DueItem
from instructors.models import Member
from tests.factories import ConfirmationFactory, DueItemFactory

pytestmark = pytest.mark.usefixtures("today")

TYPED = {
    "due_on": "2026-09-01",
    "due_miles": "52,000",
    "every_months": "12",
    "every_miles": "9,000",
    "note": "A",
}


@pytest.fixture
def service(car: Car) -> DueItem:
    return DueItemFactory(car=car, kind="service", due_on=date(2026, 8, 1), due_miles=50_000)


def path_of(item: DueItem) -> str:
    return reverse("fleet:due-item-correct", args=[item.pk])


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_corrects_it(everyone: dict[str, Client], service: DueItem, who: str, status: int) -> None:
    assert everyone[who].get(path_of(service)).status_code == status
    assert everyone[who].post(path_of(service), TYPED).status_code == status
    service.refresh_from_db()
    assert service.due_miles == 50_000


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_what_is_recorded_is_shown_and_corrected(everyone: dict[str, Client], service: DueItem, who: str) -> None:
    assert 'value="2026-08-01"' in everyone[who].get(path_of(service)).content.decode()
    for _ in range(2):  # a second tap changes nothing more
        assert everyone[who].post(path_of(service), TYPED).url == "/cars/QA51ABC/"
    service.refresh_from_db()
    assert (service.due_on, service.due_miles) == (date(2026, 9, 1), 52_000)
    assert (service.every_months, service.every_miles, service.note) == (12, 9_000, "A")


def test_who_changed_what_is_kept(everyone: dict[str, Client], service: DueItem, coordinator: Member) -> None:
    everyone["coordinator"].post(path_of(service), TYPED)
    newest, *older = service.history.all()
    assert newest.history_user == coordinator
    assert newest.due_miles == 52_000
    assert older[0].due_miles == 50_000


def test_wrong_input_keeps_what_was_typed(everyone: dict[str, Client], service: DueItem) -> None:
    response = everyone["keeper"].post(path_of(service), TYPED | {"due_miles": "52.5k"})
    assert set(response.context["form"].errors) == {"due_miles"}
    page = response.content.decode()
    assert 'value="52.5k"' in page
    assert 'value="2026-09-01"' in page
    service.refresh_from_db()
    assert service.due_on == date(2026, 8, 1)


def test_an_item_done_for_good_is_not_found(everyone: dict[str, Client], car: Car) -> None:
    closed = DueItemFactory(car=car, kind="other", note="Once", closed_on=date(2026, 2, 1))
    assert everyone["keeper"].get(path_of(closed)).status_code == 404


@pytest.mark.parametrize(
    ("who", "status"), [("keeper", 200), ("coordinator", 200), ("colleague", 404), ("anonymous", 302)]
)
def test_a_credential_is_its_holders_and_the_coordinators(
    everyone: dict[str, Client], keeper: Member, who: str, status: int
) -> None:
    item = DueItemFactory(car=None, member=keeper, kind="adi_registration")
    assert everyone[who].get(path_of(item)).status_code == status


def test_the_answer_about_tuition_stands_there_and_is_corrected(everyone: dict[str, Client], car: Car) -> None:
    insurance = DueItemFactory(car=car, kind="insurance", due_on=date(2026, 9, 1), is_confirmed=False)
    ConfirmationFactory(car=car, confirmed_on=date(2026, 1, 12), is_met=True)
    assert everyone["keeper"].get(path_of(insurance)).context["form"]["tuition"].value() == "yes"
    everyone["keeper"].post(path_of(insurance), {"due_on": "2026-09-01", "tuition": "yes", "note": "By phone"})
    assert Confirmation.objects.get().confirmed_on == date(2026, 1, 12)  # nobody looked again
    everyone["keeper"].post(path_of(insurance), {"due_on": "2026-09-01", "tuition": "no", "note": "By phone"})
    assert Confirmation.objects.get(confirmed_on=date(2026, 3, 16)).is_met is False


def test_an_answer_taken_back_stays_in_the_history(everyone: dict[str, Client], car: Car, coordinator: Member) -> None:
    insurance = DueItemFactory(car=car, kind="insurance", due_on=date(2026, 9, 1))
    ConfirmationFactory(car=car, is_met=True)
    everyone["coordinator"].post(path_of(insurance), {"due_on": "2026-09-01", "tuition": "unknown"})
    assert not Confirmation.objects.exists()
    newest = Confirmation.history.first()
    assert (newest.history_type, newest.is_met, newest.history_user) == ("-", True, coordinator)
