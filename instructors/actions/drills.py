"""The drill of each month, in which a backup is restored into a scratch book, and what is kept of it."""

import logging
from datetime import datetime, timedelta

from django.utils import timezone

from config.backup import Busy, Drilled, Place, Refused, drill
from config.release import last_migrated_at
from instructors.models import BackupDrill, BackupRun
from instructors.queries import backup_to_drill

logger = logging.getLogger(__name__)

#: Between two drills, and after one that failed: the next backup may be a good one.
EVERY, AGAIN_AFTER = timedelta(days=28), timedelta(hours=20)
#: Days; an older backup is no news, and that there is no newer one is told as such.
_LOOKED_BACK = 30


def drill_this_month(place: Place) -> None:
    """Drill the newest backup in its place, unless a drill was made within the month, and keep what was found.

    A backup of the release before, which only that one restores, is not drilled: the next night makes another.
    """
    now = timezone.now()
    places = [place.name_of(timezone.localdate(now) - timedelta(days=back)) for back in range(_LOOKED_BACK)]
    backup = backup_to_drill(places, since=last_migrated_at())
    if backup and _is_due(now):
        drill_backup(place, backup)


def drill_backup(place: Place, backup: BackupRun) -> BackupDrill | None:
    """Restore a backup into a scratch book and keep what was found; None while another drill or backup runs."""
    try:
        found = drill(place, timezone.localdate(backup.made_at), size=backup.size, sha256=backup.sha256)
    except Busy:
        logger.info("Another drill, backup or restore runs: the next hour tries again.")
        return None
    except (Refused, OSError) as error:
        why = str(error) if isinstance(error, Refused) else f"{place}: {error.strerror or error}."
        found = Drilled(was_opened=False, differences=(why,))
    if found.differences:
        logger.error("The drill of the backup %s failed: %s", backup.place, " ".join(found.differences))
    return BackupDrill.objects.create(
        backup=backup,
        ended_at=timezone.now(),
        was_opened=found.was_opened,
        made_at=found.made_at,
        row_count=found.rows,
        file_count=found.files,
        error=" ".join(found.differences)[:500],
    )


def _is_due(now: datetime) -> bool:
    last = BackupDrill.objects.order_by("-ended_at").first()
    return last is None or now - last.ended_at >= (AGAIN_AFTER if last.error else EVERY)
