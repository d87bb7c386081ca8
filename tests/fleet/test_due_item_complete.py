"""The page /due/<pk>/done/: recording that a due item was met."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, Completion, DueItem, DueKind, OdometerReading
from instructors.models import Member
from tests.factories import DueItemFactory, OdometerReadingFactory

pytestmark = pytest.mark.usefixtures("today")


def path_of(item: DueItem) -> str:
    return reverse("fleet:due-item-complete", args=[item.pk])


@pytest.fixture
def mot(car: Car) -> DueItem:
    return DueItemFactory(car=car, kind=DueKind.MOT, due_on=date(2026, 4, 2))


@pytest.fixture
def service(car: Car) -> DueItem:
    return DueItemFactory(car=car, kind=DueKind.SERVICE, due_on=date(2026, 4, 2), every_months=12, every_miles=10_000)


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_records_it(everyone: dict[str, Client], mot: DueItem, who: str, status: int) -> None:
    assert everyone[who].get(path_of(mot)).status_code == status
    assert everyone[who].post(path_of(mot), {"done_on": "2026-03-16"}).status_code == status
    assert not Completion.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_keeper_and_coordinator_record_it(everyone: dict[str, Client], mot: DueItem, who: str) -> None:
    response = everyone[who].post(
        path_of(mot), {"done_on": "2026-03-16", "next_due_on": "2027-04-02", "note": "Passed"}, follow=True
    )
    assert response.redirect_chain == [("/cars/QA51ABC/", 302)]
    assert "MOT: recorded as done on 16 March 2026. Next due: 2 April 2027." in response.content.decode()
    completion = Completion.objects.get()
    assert (completion.done_on, completion.was_due_on) == (date(2026, 3, 16), date(2026, 4, 2))
    assert (completion.recorded_by.email, completion.note) == (f"{who}@book.example", "Passed")
    mot.refresh_from_db()
    assert mot.due_on == date(2027, 4, 2)


def test_the_next_day_by_rule_is_proposed(everyone: dict[str, Client], mot: DueItem) -> None:
    # Tested inside the month before expiry, a pass keeps the day of the month.
    page = everyone["keeper"].get(path_of(mot)).content.decode()
    assert 'value="2027-04-02"' in page
    assert 'value="2026-03-16"' in page  # today, as the day of the test


def sent_as_shown(client: Client, item: DueItem, **changed: str) -> DueItem:
    """The item after its form was sent as the page showed it but for what was ``changed``."""
    form = client.get(path_of(item)).context["form"]
    proposed = form["next_due_on"].value()
    shown = proposed.isoformat() if proposed else ""
    typed = {"done_on": "2026-03-16", "next_due_on": shown, "initial-next_due_on": shown, "note": ""}
    client.post(path_of(item), typed | changed)
    item.refresh_from_db()
    return item


def test_a_proposal_left_alone_follows_the_day_of_the_test(everyone: dict[str, Client], mot: DueItem) -> None:
    # 1 March is more than a month before expiry: a year from the test less a day, not 2 April 2027 as shown.
    assert sent_as_shown(everyone["keeper"], mot, done_on="2026-03-01").due_on == date(2027, 2, 28)


def test_a_proposal_that_was_changed_is_taken_as_typed(everyone: dict[str, Client], mot: DueItem) -> None:
    changed = {"done_on": "2026-03-01", "next_due_on": "2027-03-15"}
    assert sent_as_shown(everyone["keeper"], mot, **changed).due_on == date(2027, 3, 15)


def test_sent_twice_it_moves_on_once(everyone: dict[str, Client], mot: DueItem) -> None:
    form = {"done_on": "2026-03-16", "next_due_on": "2027-04-02", "initial-next_due_on": "2027-04-02"}
    for _ in range(2):
        assert everyone["keeper"].post(path_of(mot), form).url == "/cars/QA51ABC/"
    mot.refresh_from_db()
    assert mot.due_on == date(2027, 4, 2)
    assert Completion.objects.count() == 1


def test_a_service_asks_for_the_odometer_and_keeps_it(everyone: dict[str, Client], service: DueItem, car: Car) -> None:
    assert sent_as_shown(everyone["keeper"], service, odometer="48,200").due_on == date(2027, 3, 16)
    assert service.due_miles == 58_200
    assert OdometerReading.objects.get(car=car).miles == 48_200


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"done_on": "2026-03-17", "odometer": "48200"}, "done_on"),
        ({"done_on": "", "odometer": "48200"}, "done_on"),
        ({"done_on": "2026-03-16", "odometer": ""}, "odometer"),
        ({"done_on": "2026-03-16", "odometer": "48.200"}, "odometer"),
        ({"done_on": "2026-03-16", "odometer": "39999"}, "odometer"),
        ({"done_on": "2026-03-16", "odometer": "48200", "next_due_on": "2026-03-16"}, "next_due_on"),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_kept(
    everyone: dict[str, Client], service: DueItem, car: Car, typed: dict[str, str], wrong: str
) -> None:
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 1), miles=40_000)
    response = everyone["keeper"].post(path_of(service), typed | {"note": "Half typed"})
    form = response.context["form"]
    assert set(form.errors) == {wrong}
    assert form[wrong].value() == typed[wrong]
    assert form["note"].value() == "Half typed"
    assert not Completion.objects.exists()
    service.refresh_from_db()
    assert service.due_on == date(2026, 4, 2)


def test_cover_needs_the_new_last_day(everyone: dict[str, Client], car: Car) -> None:
    insurance = DueItemFactory(car=car, kind=DueKind.INSURANCE, due_on=date(2026, 3, 20))
    page = everyone["keeper"].get(path_of(insurance)).content.decode()
    assert "Until now: 20 March 2026. Take the new day from the paper." in page
    assert 'name="odometer"' not in page
    response = everyone["keeper"].post(path_of(insurance), {"done_on": "2026-03-16", "next_due_on": ""})
    assert set(response.context["form"].errors) == {"next_due_on"}
    everyone["keeper"].post(path_of(insurance), {"done_on": "2026-03-16", "next_due_on": "2027-03-20"})
    insurance.refresh_from_db()
    assert insurance.due_on == date(2027, 3, 20)


def test_renewing_overdue_cover_puts_the_car_back_on_the_road(everyone: dict[str, Client], car: Car) -> None:
    insurance = DueItemFactory(car=car, kind=DueKind.INSURANCE, due_on=date(2026, 3, 10))
    assert "Do not use this car" in everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    everyone["keeper"].post(path_of(insurance), {"done_on": "2026-03-16", "next_due_on": "2027-03-15"})
    assert "Do not use this car" not in everyone["keeper"].get("/cars/QA51ABC/").content.decode()


def test_what_comes_once_is_closed(everyone: dict[str, Client], car: Car) -> None:
    once = DueItemFactory(car=car, kind=DueKind.OTHER, note="Fit a mirror", due_on=date(2026, 4, 1))
    response = everyone["keeper"].post(path_of(once), {"done_on": "2026-03-16"}, follow=True)
    assert "Fit a mirror: recorded as done on 16 March 2026. It does not come back." in response.content.decode()
    once.refresh_from_db()
    assert once.closed_on == date(2026, 3, 16)


def test_a_credential_is_renewed_by_its_holder_and_leads_back_to_their_page(
    everyone: dict[str, Client], keeper: Member
) -> None:
    item = DueItemFactory(car=None, member=keeper, kind=DueKind.ADI_REGISTRATION, due_on=date(2026, 3, 31))
    typed = {"done_on": "2026-03-16", "next_due_on": "2030-03-31"}
    assert everyone["colleague"].post(path_of(item), typed).status_code == 404
    assert everyone["keeper"].post(path_of(item), typed).url == reverse("fleet:profile")
    item.refresh_from_db()
    assert item.due_on == date(2030, 3, 31)
