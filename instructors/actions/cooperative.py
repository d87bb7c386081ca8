"""The co-op's one row of settings."""

from decimal import Decimal

from django.db import transaction

from instructors.actions.record import changed_settings
from instructors.actions.roles import require_coordinator
from instructors.models import Cooperative, Member


@transaction.atomic
def change_settings(
    *,
    by: Member,
    name: str,
    nation: str,
    minimum_contributors: int,
    depreciation_rate: Decimal,
    reminder_hour: int,
    tyre_life_miles: int,
) -> Cooperative:
    """Set the co-op's one row. ``depreciation_rate`` is a yearly share: 0.15 is 15 %. The hour is UK time.

    Every active member is told of what group figures rest on.
    """
    require_coordinator(by)
    was = _told_of(Cooperative.objects.select_for_update().first() or Cooperative())
    row, _ = Cooperative.objects.update_or_create(
        id=Cooperative.ONLY_ID,
        defaults={
            "name": name,
            "nation": nation,
            "minimum_contributors": minimum_contributors,
            "depreciation_rate": depreciation_rate,
            "reminder_hour": reminder_hour,
            "tyre_life_miles": tyre_life_miles,
        },
    )
    now = _told_of(row)
    changed_settings(by=by, changes={field: (was[field], now[field]) for field in was if was[field] != now[field]})
    return row


def _told_of(row: Cooperative) -> dict[str, str]:
    return {
        "minimum_contributors": str(row.minimum_contributors),
        "depreciation_rate": f"{Decimal(row.depreciation_rate).normalize():f}",
    }
