"""The processes of this installation show that they run."""

from datetime import timedelta

from django.utils import timezone

from fleet.models import Pulse, PulseName

#: Whoever shows itself less often than this was not there in between.
_GAP = timedelta(minutes=10)


def note_schedule_kept() -> None:
    """Note that the schedule is kept just now; see ``settings.SCHEDULE_KEPT``."""
    _note(PulseName.SCHEDULE)


def note_task_done() -> None:
    """Note that a task of the schedule is being done just now."""
    _note(PulseName.WORKER)


def _note(name: PulseName) -> None:
    now = timezone.now()
    pulses = Pulse.objects.filter(name=name)
    if pulses.filter(at__gte=now - _GAP).update(at=now) or pulses.update(at=now, since=now):
        return
    Pulse.objects.get_or_create(name=name, defaults={"first_at": now, "since": now, "at": now})
