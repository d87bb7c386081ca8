"""Changes to the co-op's settings."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from config.history import lock
from instructors.actions.people import require_coordinator
from instructors.actions.record import record_settings_changes, text_of
from instructors.models import Cooperative, Member


@transaction.atomic
def change_settings(
    *,
    by: Member,
    name: str,
    nation: str,
    minimum_contributors: int,
    closing_day: int,
    rounding: int,
    depreciation_rate: Decimal,
    reminder_hour: int,
    tyre_life_miles: int,
    coordinators_need_second_factor: bool,
    rent_or_own_is_open: bool,
) -> Cooperative:
    """Save the co-op's settings and tell every active member of those that group figures rest on.

    ``depreciation_rate`` is a yearly share: 0.15 is 15%. ``reminder_hour`` is UK time. ``rounding`` is in pence of a
    lesson hour. A new closing day counts from next month's figures on. Members are also told whether coordinators need
    a second step to sign in. ``rent_or_own_is_open``: whether the public page
    that compares two quotes is there.
    """
    require_coordinator(by)
    row = lock(Cooperative.objects.get_or_create(id=Cooperative.ONLY_ID)[0])
    was = _told_to_members(row)
    row.name, row.nation, row.reminder_hour = name, nation, reminder_hour
    row.minimum_contributors, row.rounding = minimum_contributors, rounding
    row.set_closing_day(closing_day, timezone.localdate())
    row.depreciation_rate, row.tyre_life_miles = depreciation_rate, tyre_life_miles
    row.coordinators_need_second_factor = coordinators_need_second_factor
    row.rent_or_own_is_open = rent_or_own_is_open
    row.save()
    now = _told_to_members(row)
    record_settings_changes(
        by=by, changes={field: (was[field], now[field]) for field in was if was[field] != now[field]}
    )
    return row


@transaction.atomic
def load_settings(values: Mapping[str, Any]) -> None:
    """Set the settings that an archive holds; a new closing day counts from next month's figures on.

    In a book without members the archive's closing day counts at once.
    """
    row, _ = Cooperative.objects.get_or_create(id=Cooperative.ONLY_ID)
    for name, value in values.items():
        if name != "closing_day":
            setattr(row, name, value)
        elif Member.objects.exists():
            row.set_closing_day(value, timezone.localdate())
        else:
            row.closing_day = value
    row.save()


def _told_to_members(row: Cooperative) -> dict[str, str]:
    return {
        "minimum_contributors": str(row.minimum_contributors),
        "closing_day": str(row.closing_day),
        "rounding": str(row.rounding),
        "depreciation_rate": f"{Decimal(row.depreciation_rate).normalize():f}",
        "coordinators_need_second_factor": text_of(row.coordinators_need_second_factor),
    }
