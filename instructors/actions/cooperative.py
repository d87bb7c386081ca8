"""The co-op's one row of settings."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from config.history import lock
from instructors.actions.people import require_coordinator
from instructors.actions.record import changed_settings, text_of
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
) -> Cooperative:
    """Set the co-op's one row. ``depreciation_rate`` is a yearly share: 0.15 is 15 %. The hour is UK time.

    ``rounding`` is in pence of a lesson hour; another closing day counts from the next calendar month on. Every active
    member is told of what group figures rest on, and of whether coordinators are asked for a second step.
    """
    require_coordinator(by)
    row = lock(Cooperative.objects.get_or_create(id=Cooperative.ONLY_ID)[0])
    was = _told_of(row)
    row.name, row.nation, row.reminder_hour = name, nation, reminder_hour
    row.minimum_contributors, row.rounding = minimum_contributors, rounding
    row.set_closing_day(closing_day, timezone.localdate())
    row.depreciation_rate, row.tyre_life_miles = depreciation_rate, tyre_life_miles
    row.coordinators_need_second_factor = coordinators_need_second_factor
    row.save()
    now = _told_of(row)
    changed_settings(by=by, changes={field: (was[field], now[field]) for field in was if was[field] != now[field]})
    return row


@transaction.atomic
def load_settings(values: Mapping[str, Any]) -> None:
    """Set those of the co-op's settings that an archive has; another closing day counts as `change_settings` says.

    A book without members begins with the archive's closing day.
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


def _told_of(row: Cooperative) -> dict[str, str]:
    return {
        "minimum_contributors": str(row.minimum_contributors),
        "closing_day": str(row.closing_day),
        "rounding": str(row.rounding),
        "depreciation_rate": f"{Decimal(row.depreciation_rate).normalize():f}",
        "coordinators_need_second_factor": text_of(row.coordinators_need_second_factor),
    }
