"""Whoever has handed a car over still logs the last days of their own time with it, and nothing of what came after."""

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import CostEntry, Fill, TeachingRecord
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import cost_data, fill_data, save, shown, week_data
from tests.factories import FillFactory, KeeperTimeFactory, OdometerReadingFactory

FILL_LOG, LESSONS_LOG = reverse("costing:fill-log"), reverse("costing:teaching-log")

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def handed(car: Car, colleague: Member) -> Car:
    """The keeper's car until 10 March 2026, at 48,000 miles; the colleague's since, who has filled it at 48,900."""
    KeeperTimeFactory(car=car, keeper=car.keeper, from_on=car.in_service_from, to_on=date(2026, 3, 10))
    KeeperTimeFactory(car=car, keeper=colleague, from_on=date(2026, 3, 11))
    car.keeper = colleague
    car.save()
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 10), miles=48_000)
    FillFactory(car=car, member=colleague, filled_on=date(2026, 3, 14), odometer=48_900)
    return car


def test_a_fill_and_lessons_of_ones_own_last_days_and_a_late_bill_are_logged(
    everyone: dict[str, Client], handed: Car, keeper: Member
) -> None:
    client = everyone["keeper"]
    for page, data in (
        (FILL_LOG, fill_data(handed, filled_on="2026-03-09", odometer="47,950")),
        (LESSONS_LOG, week_data(handed, **dict.fromkeys(("day_1", "day_2", "day_3", "day_4", "day_5"), ""))),
        (reverse("costing:cost-log"), cost_data(handed, paid_on="2026-03-15")),
    ):
        assert save(client, page, data).status_code == 303, page
    assert {Fill.objects.get(member=keeper).car, CostEntry.objects.get().car, TeachingRecord.objects.get().car} == {
        handed
    }


def test_days_of_the_next_keeper_are_refused_and_nothing_of_theirs_is_shown(
    everyone: dict[str, Client], handed: Car, keeper: Member
) -> None:
    client = everyone["keeper"]
    page = shown(client, FILL_LOG)
    assert "48,900" not in page
    late = save(client, FILL_LOG, fill_data(handed, filled_on="2026-03-12", odometer="48,100")).content.decode()
    assert "Somebody else kept the car on that day." in late
    past = save(client, FILL_LOG, fill_data(handed, filled_on="2026-03-10", odometer="48,001")).content.decode()
    assert "When you handed the car over it showed 48,000 miles." in past
    lessons = client.post(LESSONS_LOG, week_data(handed))
    assert "The car was not yours on this day." in lessons.content.decode()
    assert not Fill.objects.filter(member=keeper).exists()
    assert not TeachingRecord.objects.exists()


def test_a_fill_of_the_own_time_is_corrected_to_no_more_than_the_handover(
    everyone: dict[str, Client], handed: Car, keeper: Member
) -> None:
    fill = FillFactory(car=handed, member=keeper, filled_on=date(2026, 3, 9), odometer=47_900, amount=Decimal("40.00"))
    address = reverse("costing:entry-correct", args=["fill", fill.pk])
    answer = save(everyone["keeper"], address, fill_data(handed, filled_on="2026-03-10", odometer="48,500"))
    assert "When you handed the car over it showed 48,000 miles." in answer.content.decode()


def test_somebody_who_never_kept_it_logs_nothing(everyone: dict[str, Client], handed: Car, stranger: Member) -> None:
    answer = everyone["stranger"].post(FILL_LOG, fill_data(handed, filled_on="2026-03-09"))
    assert not Fill.objects.filter(member=stranger).exists()
    assert answer.status_code == 200
