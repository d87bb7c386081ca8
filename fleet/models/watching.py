"""What this installation notes of itself, in no backup: that its processes run, and the turns of its duty.

"Duty" is that members are being told; see ``fleet.queries.duty``.
"""

from django.db import models
from django.db.models import Q

from config.outbox import MailState, Outgoing


class PulseName(models.TextChoices):
    """Whose pulse it is: of whatever keeps the schedule, or of whoever takes its tasks."""

    SCHEDULE = "schedule", "The schedule"
    WORKER = "worker", "The worker"


class Pulse(models.Model):
    """When a kind of process last showed that it runs.

    ``first_at`` is when one first did so in this installation, ``since`` when it began anew after a silence.
    """

    name = models.CharField(max_length=8, choices=PulseName, unique=True)
    first_at = models.DateTimeField()
    since = models.DateTimeField()
    at = models.DateTimeField()

    class Meta:
        ordering = ["name"]
        constraints = [models.CheckConstraint(condition=Q(name__in=PulseName.values), name="pulse_name_known")]

    def __str__(self) -> str:
        return f"{self.name}: {self.at:%Y-%m-%d %H:%M:%S}"


class DutyTurn(Outgoing):
    """The moment at which duty turned red or green again, posted to the web hook once if there is one.

    It waits, is claimed and is tried again as a mail is, and ``message_id`` goes along with each attempt. ``number``
    counts from 1, so that of two processes that see a turn at once only one writes it down. ``words`` are what was red.
    """

    number = models.PositiveIntegerField(unique=True)
    is_red = models.BooleanField()
    words = models.CharField(max_length=1_000, blank=True)
    turned_at = models.DateTimeField()

    class Meta:
        ordering = ["-number"]
        constraints = [models.CheckConstraint(condition=Q(state__in=MailState.values), name="duty_turn_state_known")]

    def __str__(self) -> str:
        return f"{self.number}: {'red' if self.is_red else 'green'} at {self.turned_at:%Y-%m-%d %H:%M}"
