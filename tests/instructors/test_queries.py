"""What the book knows of its people."""

from datetime import date

import pytest

from instructors.models import Cooperative, Member
from instructors.queries import active_members, cooperative, coordinators
from tests.factories import CooperativeFactory, CoordinatorFactory, MemberFactory

pytestmark = pytest.mark.django_db


def test_the_settings_are_the_defaults_while_nobody_has_changed_any() -> None:
    assert (cooperative().nation, cooperative().reminder_hour, cooperative().minimum_contributors) == (
        "GB",
        7,
        5,
    )
    assert not Cooperative.objects.exists()
    CooperativeFactory.create(reminder_hour=9)
    assert cooperative().reminder_hour == 9


def test_the_day_of_leaving_still_counts(keeper: Member, coordinator: Member) -> None:
    day = date(2026, 3, 16)
    MemberFactory.create(left_on=date(2026, 3, 15))
    leaving = CoordinatorFactory.create(name="Aino", left_on=day)
    assert active_members(day) == [leaving, keeper, coordinator]
    assert coordinators(day) == [leaving, coordinator]
    assert coordinators(date(2026, 3, 17)) == [coordinator]
