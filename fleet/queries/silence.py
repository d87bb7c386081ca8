"""Whether the reminders still run: one answer for the pages, the address /health/ and the alarm."""

from datetime import datetime, timedelta

from fleet.models import Car
from fleet.queries.log import last_finished_run

#: One run a day, and two hours for a server that was restarted at the wrong time.
LATE_AFTER = timedelta(hours=26)


def quiet_since() -> datetime | None:
    """When a run last finished; before the first, when a car first came into the book, None while there is none."""
    run = last_finished_run()
    return run.finished_at if run else _first_car_recorded_at()


def reminders_are_late(now: datetime) -> bool:
    """Whether no run has finished for so long that something must have stopped."""
    since = quiet_since()
    return since is not None and now - since > LATE_AFTER


def _first_car_recorded_at() -> datetime | None:
    history = Car.history.filter(id__in=Car.objects.values("pk"))
    return history.order_by("history_date").values_list("history_date", flat=True).first()
