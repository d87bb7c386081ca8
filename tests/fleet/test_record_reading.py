"""Writing down odometer readings: they never fall, whatever the source."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.actions import check_reading, record_reading
from fleet.core.odometer import Reading
from fleet.models import Car, OdometerReading
from fleet.queries import last_reading_of, readings_of
from instructors.models import Member
from tests.factories import FillFactory, OdometerReadingFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


@pytest.fixture
def read_twice(car: Car) -> Car:
    OdometerReadingFactory.create(car=car, read_on=date(2026, 2, 1), miles=46_000)
    OdometerReadingFactory.create(car=car, read_on=date(2026, 3, 1), miles=47_000)
    return car


def test_a_reading_is_kept_with_who_wrote_it(car: Car, keeper: Member) -> None:
    reading = record_reading(by=keeper, car=car, read_on=date(2026, 3, 16), miles=48_000)
    assert (reading.read_on, reading.miles) == (date(2026, 3, 16), 48_000)
    assert OdometerReading.history.get().history_user == keeper


def test_a_reading_below_an_earlier_one_is_refused_and_the_earlier_named(read_twice: Car, keeper: Member) -> None:
    with pytest.raises(ValidationError) as refusal:
        record_reading(by=keeper, car=read_twice, read_on=date(2026, 3, 10), miles=46_999)
    assert refusal.value.message_dict == {
        "miles": ["On 1 March 2026 it showed 47,000 miles: it cannot have shown less on 10 March 2026."]
    }
    assert OdometerReading.objects.count() == 2


def test_a_reading_above_a_later_one_is_refused_and_the_later_named(read_twice: Car, keeper: Member) -> None:
    with pytest.raises(ValidationError) as refusal:
        record_reading(by=keeper, car=read_twice, read_on=date(2026, 2, 10), miles=47_001)
    assert refusal.value.message_dict == {
        "miles": ["On 1 March 2026 it showed 47,000 miles: it cannot have shown more on 10 February 2026."]
    }


def test_the_same_miles_on_another_day_are_fine(read_twice: Car, keeper: Member) -> None:
    record_reading(by=keeper, car=read_twice, read_on=date(2026, 3, 10), miles=47_000)
    record_reading(by=keeper, car=read_twice, read_on=date(2026, 2, 10), miles=46_000)
    assert OdometerReading.objects.count() == 4


def test_a_fill_bounds_a_reading_too(car: Car, keeper: Member) -> None:
    FillFactory.create(car=car, filled_on=date(2026, 3, 5), odometer=48_200)
    with pytest.raises(ValidationError, match="On 5 March 2026 it showed 48,200 miles"):
        record_reading(by=keeper, car=car, read_on=date(2026, 3, 6), miles=48_199)


def test_a_second_reading_of_a_day_replaces_the_first(read_twice: Car, keeper: Member) -> None:
    reading = record_reading(by=keeper, car=read_twice, read_on=date(2026, 3, 1), miles=46_500)
    assert OdometerReading.objects.get(car=read_twice, read_on=date(2026, 3, 1)).miles == 46_500
    assert [past.miles for past in reading.history.all()] == [46_500, 47_000]


def test_sending_the_same_reading_again_changes_nothing(read_twice: Car, keeper: Member) -> None:
    reading = record_reading(by=keeper, car=read_twice, read_on=date(2026, 3, 1), miles=47_000)
    assert reading.history.count() == 1
    assert OdometerReading.objects.count() == 2


def test_a_reading_of_tomorrow_is_refused(car: Car, keeper: Member) -> None:
    with pytest.raises(ValidationError) as refusal:
        record_reading(by=keeper, car=car, read_on=date(2026, 3, 17), miles=48_000)
    assert set(refusal.value.message_dict) == {"read_on"}


def test_a_mileage_no_odometer_can_show_is_refused(car: Car, keeper: Member) -> None:
    for miles in (-1, 10_000_000, 10**20):
        with pytest.raises(ValidationError) as refusal:
            record_reading(by=keeper, car=car, read_on=date(2026, 3, 16), miles=miles)
        assert set(refusal.value.message_dict) == {"miles"}


def test_the_reading_that_is_replaced_does_not_bar_its_correction(read_twice: Car) -> None:
    with transaction.atomic():
        with pytest.raises(ValidationError):
            check_reading(read_twice.keeper, read_twice, date(2026, 3, 2), 46_800, field="odometer")
        check_reading(
            read_twice.keeper, read_twice, date(2026, 3, 2), 46_800, ignoring=Reading(date(2026, 3, 1), 47_000)
        )


def test_miles_come_from_every_source_of_every_car(read_twice: Car, colleague_car: Car) -> None:
    FillFactory.create(car=read_twice, filled_on=date(2026, 3, 5), odometer=48_200)
    odometers = readings_of([read_twice.pk, colleague_car.pk])
    assert odometers[read_twice.pk].at(date(2026, 3, 5)) == 48_200
    assert odometers[read_twice.pk].at(date(2026, 2, 1)) == 46_000
    assert not odometers[colleague_car.pk]
    assert last_reading_of(read_twice, date(2026, 3, 4)) == Reading(date(2026, 3, 1), 47_000)
    assert last_reading_of(colleague_car, date(2026, 3, 4)) is None


def test_with_since_only_the_last_reading_before_it_is_fetched(read_twice: Car) -> None:
    OdometerReadingFactory.create(car=read_twice, read_on=date(2026, 1, 1), miles=45_000)
    odometer = readings_of([read_twice.pk], since=date(2026, 2, 15))[read_twice.pk]
    assert (odometer.first_on, odometer.last_on) == (date(2026, 2, 1), date(2026, 3, 1))
    assert odometer.at(date(2026, 2, 15)) == 46_500
