"""The coordinators' repair shop: for their eyes alone, and never a member's money or password."""

from collections.abc import Callable

import pytest
from django.apps import apps
from django.contrib import admin
from django.test import Client
from django.urls import reverse

from fleet.models import Car, OdometerReading
from instructors.models import Cooperative, Member
from tests.factories import (
    CompletionFactory,
    CooperativeFactory,
    DueItemFactory,
    InvitationFactory,
    NoticeFactory,
    OdometerReadingFactory,
    ReminderRunFactory,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
ClientOf = Callable[[Member | None], Client]

REGISTERED = sorted(model._meta.label_lower for model in admin.site._registry)
READ_ONLY = {"fleet.remindermail", "fleet.reminderrun", "instructors.invitation"}


def page(label: str, name: str, *arguments: object) -> str:
    return reverse(f"admin:{label.replace('.', '_')}_{name}", args=arguments)


@pytest.fixture
def a_row_of_each(car: Car) -> None:
    OdometerReadingFactory.create(car=car)
    CompletionFactory.create(due_item=DueItemFactory.create(car=car))
    NoticeFactory.create(due_item__kind="insurance", due_item__car=car)
    ReminderRunFactory.create()
    CooperativeFactory.create()
    InvitationFactory.create()


def test_no_model_that_holds_money_is_there() -> None:
    assert [
        *("fleet.car", "fleet.completion", "fleet.dueitem", "fleet.odometerreading", "fleet.remindermail"),
        *("fleet.reminderrun", "instructors.cooperative", "instructors.invitation", "instructors.member"),
    ] == REGISTERED


@pytest.mark.parametrize("label", REGISTERED)
@pytest.mark.usefixtures("a_row_of_each")
def test_a_coordinator_may_list_and_open_and_nobody_else_may(label: str, everyone: dict[str, Client]) -> None:
    row = apps.get_model(label).objects.first()
    for url in (page(label, "changelist"), page(label, "change", row.pk)):
        assert everyone["coordinator"].get(url).status_code == 200
        for name in ("keeper", "colleague", "stranger"):
            assert everyone[name].get(url, follow=True).status_code == 404
        assert everyone["anonymous"].get(url).status_code == 302


@pytest.mark.parametrize("label", sorted(READ_ONLY))
@pytest.mark.usefixtures("a_row_of_each")
def test_what_the_book_writes_itself_can_only_be_read(label: str, client_of: ClientOf, coordinator: Member) -> None:
    row = apps.get_model(label).objects.first()
    client = client_of(coordinator)
    assert client.get(page(label, "add")).status_code == 403
    assert client.post(page(label, "change", row.pk), {"state": "sent"}).status_code == 403
    assert client.post(page(label, "delete", row.pk), {"post": "yes"}).status_code == 403


@pytest.mark.parametrize("label", ["fleet.car", "fleet.completion", "fleet.dueitem", "instructors.member"])
@pytest.mark.usefixtures("a_row_of_each")
def test_what_has_a_history_is_not_deleted(label: str, client_of: ClientOf, coordinator: Member) -> None:
    row = apps.get_model(label).objects.first()
    assert client_of(coordinator).post(page(label, "delete", row.pk), {"post": "yes"}).status_code == 403
    assert apps.get_model(label).objects.filter(pk=row.pk).exists()


def test_no_password_hash_is_shown_and_none_can_be_set(
    client_of: ClientOf, coordinator: Member, keeper: Member
) -> None:
    keeper.set_password("a long one for the test")
    keeper.save()
    url = page("instructors.member", "change", keeper.pk)
    shown = client_of(coordinator).get(url).content.decode()
    assert keeper.password not in shown
    assert 'name="password"' not in shown
    typed = {"name": "Wren Q", "grade": "ADI", "password": "x"}
    assert client_of(coordinator).post(url, typed).status_code == 302
    before = keeper.password
    keeper.refresh_from_db()
    assert (keeper.name, keeper.password) == ("Wren Q", before)


def test_nobodys_sign_in_codes_can_be_sent_elsewhere_and_no_role_changed(
    client_of: ClientOf, coordinator: Member, keeper: Member
) -> None:
    url = page("instructors.member", "change", keeper.pk)
    typed = {"name": "Wren Q", "grade": "ADI", "email": coordinator.email + ".example", "role": "coordinator"}
    assert client_of(coordinator).post(url, typed).status_code == 302
    keeper.refresh_from_db()
    assert (keeper.name, keeper.email, keeper.role) == ("Wren Q", "keeper@book.example", "member")


def test_a_mended_reading_is_held_against_the_others(client_of: ClientOf, coordinator: Member, car: Car) -> None:
    OdometerReadingFactory.create(car=car, read_on="2026-03-01", miles=47_000)
    wrong = OdometerReadingFactory.create(car=car, read_on="2026-03-10", miles=480_000)
    url = page("fleet.odometerreading", "change", wrong.pk)
    typed = {"car": car.pk, "read_on": "2026-03-10", "miles": 46_999}
    refused = client_of(coordinator).post(url, typed)
    assert "On 1 March 2026 it showed 47,000 miles" in refused.content.decode()
    assert client_of(coordinator).post(url, typed | {"miles": 48_000}).status_code == 302
    wrong.refresh_from_db()
    assert wrong.miles == 48_000
    assert OdometerReading.history.first().history_user == coordinator


def test_there_is_one_row_of_settings(client_of: ClientOf, coordinator: Member) -> None:
    client = client_of(coordinator)
    assert client.get(page("instructors.cooperative", "add")).status_code == 200
    CooperativeFactory.create()
    assert client.get(page("instructors.cooperative", "add")).status_code == 403
    assert Cooperative.objects.count() == 1
