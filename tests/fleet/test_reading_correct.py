"""The page /cars/<mark>/readings/<pk>/: a wrong odometer reading put right; and who is told of any reading."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from costing.actions import correct_entry, log_fill
from costing.models import Fill
from fleet.actions import complete_due_item, correct_reading, record_reading, record_tread, remove_reading
from fleet.models import Car, OdometerReading
from instructors.models import Member
from tests.asked import said_at
from tests.costing.pages import text_of
from tests.factories import DueItemFactory, FillFactory, OdometerReadingFactory
from tests.fleet.keepers import acts, hand_on

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
HANDED = date(2026, 3, 16)
WREN, ELPIDA = "Wren Applegarth", "Ελπίδα Καραβίδα"


@pytest.fixture
def wrong(car: Car) -> OdometerReading:
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 1), miles=47_000)
    return OdometerReadingFactory.create(car=car, read_on=date(2026, 3, 10), miles=480_000)


def page_of(reading: OdometerReading) -> str:
    return reverse("fleet:reading-correct", args=[reading.car.registration, reading.pk])


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_puts_it_right(everyone: dict[str, Client], wrong: OdometerReading, who: str, status: int) -> None:
    assert everyone[who].get(page_of(wrong)).status_code == status
    assert everyone[who].post(page_of(wrong), {"miles": "48000"}).status_code == status
    wrong.refresh_from_db()
    assert wrong.miles == 480_000


def test_the_keeper_puts_it_right_and_nobody_is_told(everyone: dict[str, Client], wrong: OdometerReading) -> None:
    for _ in range(2):
        assert everyone["keeper"].post(page_of(wrong), {"miles": "48,000"}).url == "/cars/QA51ABC/readings/"
    wrong.refresh_from_db()
    assert (wrong.miles, wrong.history.count(), acts()) == (48_000, 2, [])


def test_what_a_coordinator_puts_right_is_told_with_what_it_was(
    everyone: dict[str, Client], wrong: OdometerReading, coordinator: Member
) -> None:
    assert f"{WREN} is told by e-mail." in text_of(everyone["coordinator"].get(page_of(wrong)))
    for _ in range(2):
        everyone["coordinator"].post(page_of(wrong), {"miles": "48000"})
    assert acts() == [(WREN, "reading:2026-03-10", "480000", "48000", True)]
    assert wrong.history.first().history_user == coordinator


def test_a_reading_that_falls_is_refused_and_kept_on_the_page(
    everyone: dict[str, Client], wrong: OdometerReading
) -> None:
    response = everyone["coordinator"].post(page_of(wrong), {"miles": "46,999"})
    assert "On 1 March 2026 it showed 47,000 miles" in said_at(response.context["form"], "miles")[0]
    assert 'value="46,999"' in response.content.decode()
    assert acts() == []


def test_a_reading_of_another_car_is_not_found(
    everyone: dict[str, Client], wrong: OdometerReading, colleague_car: Car
) -> None:
    elsewhere = reverse("fleet:reading-correct", args=["QB02XYZ", wrong.pk])
    assert everyone["coordinator"].get(elsewhere).status_code == 404


def test_a_reading_that_was_removed_meanwhile_does_not_come_back(car: Car, wrong: OdometerReading) -> None:
    remove_reading(by=car.keeper, car=car, read_on=wrong.read_on)
    with pytest.raises(ValidationError, match="no longer in the book"):
        correct_reading(by=car.keeper, car=car, read_on=wrong.read_on, miles=48_000)


# --- Whoever took the car over ----------------------------------------------------------------------------------


def test_whoever_took_a_car_over_changes_no_reading_of_the_days_before(
    car: Car, wrong: OdometerReading, colleague: Member, coordinator: Member
) -> None:
    hand_on(car, colleague, HANDED, coordinator)
    before = {"by": colleague, "car": car, "read_on": wrong.read_on}
    for change in (
        lambda: record_reading(by=colleague, car=car, read_on=date(2026, 3, 12), miles=480_001),
        lambda: correct_reading(**before, miles=48_000),
        lambda: remove_reading(**before),
        lambda: record_tread(
            by=colleague, car=car, read_on=date(2026, 3, 12), wheels={"front_left": (5, 5, 5)}, odometer=480_001
        ),
    ):
        with pytest.raises(ValidationError, match="You took QA51 ABC over on 16 March 2026"):
            change()
    assert OdometerReading.objects.count() == 3
    assert acts() == []
    assert record_reading(by=colleague, car=car, read_on=HANDED, miles=480_002)


def test_the_refusal_stands_beside_the_day(
    everyone: dict[str, Client], car: Car, colleague: Member, coordinator: Member
) -> None:
    hand_on(car, colleague, HANDED, coordinator)
    page = reverse("fleet:odometer-add", args=["QA51ABC"])
    response = everyone["colleague"].post(page, {"miles": "48000", "read_on": "2026-03-12"})
    assert "You took QA51 ABC over" in response.context["form"].errors["read_on"][0]


def test_nor_does_a_fill_of_theirs_show_what_the_odometer_was_before(
    car: Car, colleague: Member, coordinator: Member
) -> None:
    hand_on(car, colleague, HANDED, coordinator)
    fill = {"quantity": 30, "unit": "litre", "amount": 45, "odometer": 48_000}
    with pytest.raises(ValidationError, match="Somebody else kept the car on that day"):
        log_fill(by=colleague, car=car, ref="ref-1", filled_on=date(2026, 3, 12), **fill)
    logged, _ = log_fill(by=colleague, car=car, ref="ref-2", filled_on=HANDED, **fill)
    with pytest.raises(ValidationError, match="Somebody else kept the car on that day"):
        correct_entry(by=colleague, entry=logged, changes={"filled_on": date(2026, 3, 12)})
    assert Fill.objects.get().filled_on == HANDED


def test_a_former_keeper_puts_their_own_fill_right(
    car: Car, keeper: Member, colleague: Member, coordinator: Member
) -> None:
    fill = FillFactory(car=car, filled_on=date(2026, 3, 2), odometer=48_000)
    OdometerReadingFactory(car=car, read_on=HANDED, miles=48_200)
    hand_on(car, colleague, HANDED, coordinator)
    assert correct_entry(by=keeper, entry=fill, changes={"odometer": 48_010}).odometer == 48_010


def test_what_a_coordinator_changes_is_told_to_all_who_kept_the_car_since_that_day(
    car: Car, wrong: OdometerReading, colleague: Member, coordinator: Member
) -> None:
    hand_on(car, colleague, HANDED, coordinator)
    correct_reading(by=coordinator, car=car, read_on=wrong.read_on, miles=48_000)
    assert sorted(acts()) == [
        (WREN, "reading:2026-03-10", "480000", "48000", True),
        (ELPIDA, "reading:2026-03-10", "480000", "48000", True),
    ]


# --- Readings that come with something else -----------------------------------------------------------------------


def test_a_reading_that_a_coordinator_enters_with_a_completion_or_tread_is_told(car: Car, coordinator: Member) -> None:
    item = DueItemFactory(car=car, kind="mot", due_on=date(2026, 3, 20))
    complete_due_item(by=coordinator, item=item, done_on=date(2026, 3, 14), odometer=47_900)
    record_tread(by=coordinator, car=car, read_on=date(2026, 3, 15), wheels={"front_left": (5, 5, 5)}, odometer=47_950)
    assert acts(kind="reading") == [
        (WREN, "reading:2026-03-14", "", "47900", True),
        (WREN, "reading:2026-03-15", "", "47950", True),
    ]
