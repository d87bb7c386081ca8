"""The migration that writes who kept each car when, which only the cars' histories told before."""

from datetime import UTC, date, datetime
from importlib import import_module

import pytest
import time_machine
from django.apps import apps

from fleet.models import Car
from fleet.queries import keeperships_of
from instructors.models import Member
from tests.factories import CarFactory, OdometerReadingFactory

read_histories = import_module("fleet.migrations.0010_keepers_so_far").read_histories

pytestmark = pytest.mark.django_db


def handed_on(*keepers: tuple[datetime, Member]) -> Car:
    """A car whose history says that it changed keepers at these moments; it came into service on 8 January 2024."""
    (at, keeper), *later = keepers
    with time_machine.travel(at, tick=False):
        car = CarFactory.create(keeper=keeper, in_service_from=date(2024, 1, 8))
    for at, keeper in later:
        with time_machine.travel(at, tick=False):
            car.keeper = keeper
            car.save()
    return car


def at(year: int, month: int, day: int, hour: int = 12) -> datetime:
    return datetime(year, month, day, hour, tzinfo=UTC)


def test_the_day_of_a_handover_becomes_the_former_keepers(keeper: Member, colleague: Member, stranger: Member) -> None:
    start = at(2024, 1, 8)
    never = handed_on((start, keeper))
    once = handed_on((start, keeper), (at(2025, 7, 1, hour=23), colleague))
    lent = handed_on((start, keeper), (at(2025, 3, 3), colleague), (at(2025, 3, 20), keeper))
    slip = handed_on((start, keeper), (at(2025, 3, 3), colleague), (at(2025, 3, 3, hour=13), keeper))
    passed_on = handed_on((start, keeper), (at(2025, 3, 3), colleague), (at(2025, 3, 3, hour=13), stranger))
    early = handed_on((start, keeper), (at(2025, 3, 3), colleague))
    OdometerReadingFactory.create(car=early, read_on=date(2023, 12, 1))
    entered_late = handed_on((at(2025, 3, 3), keeper), (at(2025, 3, 3, hour=13), colleague))
    never.description = "Red"
    never.save()

    read_histories(apps, None)

    first = date(2024, 1, 8)
    a, b, c = keeper.pk, colleague.pk, stranger.pk
    assert keeperships_of(never) == [(a, None, None)]
    # 23:00 UTC on 1 July is midnight of the 2nd in London.
    assert keeperships_of(once) == [(a, first, date(2025, 7, 2)), (b, date(2025, 7, 3), None)]
    assert keeperships_of(lent) == [
        (a, first, date(2025, 3, 3)),
        (b, date(2025, 3, 4), date(2025, 3, 20)),
        (a, date(2025, 3, 21), None),
    ]
    assert keeperships_of(slip) == [(a, first, None)]
    assert keeperships_of(passed_on) == [(a, first, date(2025, 3, 3)), (c, date(2025, 3, 4), None)]
    assert keeperships_of(early)[0] == (a, date(2023, 12, 1), date(2025, 3, 3))
    assert keeperships_of(entered_late) == [(a, first, date(2025, 3, 3)), (b, date(2025, 3, 4), None)]
