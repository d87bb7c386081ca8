"""Notices of what falls due, the mails that carry them, and the runs that send these."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from config.outbox import MailState, OutgoingMail
from fleet.models.cars import Car
from instructors.models import Member


class MailKind(models.TextChoices):
    """What a mail is about."""

    REMINDER = "reminder", "What falls due"
    ASKED = "asked", "A coordinator's reminder"
    DEFECT = "defect", "A car off the road"
    ALARM = "alarm", "An alarm about the book itself"


class ReminderMail(OutgoingMail):
    """One e-mail to one member: its row is claimed before the message goes.

    Each member gets at most one a day of each kind; of a defect, one each time it puts its car off the road, which
    ``about`` tells apart.
    """

    recipient = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="reminder_mails")
    day = models.DateField()
    kind = models.CharField(max_length=8, choices=MailKind, default=MailKind.REMINDER)
    about = models.CharField(max_length=40, blank=True)
    asked_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    #: Empty in what a process of an earlier release queued.
    created_at = models.DateTimeField(default=timezone.now, null=True, editable=False)

    class Meta:
        ordering = ["-day", "recipient"]
        constraints = [
            models.UniqueConstraint(
                fields=["recipient", "day", "kind", "about"], name="reminder_mail_one_a_member_a_day"
            ),
            models.CheckConstraint(condition=Q(state__in=MailState.values), name="reminder_mail_state_known"),
            models.CheckConstraint(condition=Q(kind__in=MailKind.values), name="reminder_mail_kind_known"),
        ]
        indexes = [models.Index(fields=["state", "next_attempt_at"], name="reminder_mail_to_send")]

    def __str__(self) -> str:
        return f"{self.recipient} on {self.day}: {self.state}"


class Notice(models.Model):
    """One step of one thing, of a car or a member, told to one recipient, once.

    ``kind`` names a kind of due item or a reason to be off the road; ``occurrence`` tells this time from others (its
    due day or mileage, or since when it is so); ``step`` is the days before the due day, 0 on it, negative after it.
    """

    car = models.ForeignKey(Car, on_delete=models.PROTECT, null=True, related_name="notices")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="notices_about")
    kind = models.CharField(max_length=32)
    occurrence = models.CharField(max_length=40)
    step = models.SmallIntegerField()
    recipient = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="notices")
    mail = models.ForeignKey(ReminderMail, on_delete=models.PROTECT, related_name="notices")
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(car__isnull=False, member__isnull=True) | Q(car__isnull=True, member__isnull=False),
                name="notice_of_a_car_or_a_member",
            ),
            models.UniqueConstraint(
                fields=["car", "kind", "occurrence", "step", "recipient"],
                condition=Q(member__isnull=True),
                name="notice_of_a_car_told_once",
            ),
            models.UniqueConstraint(
                fields=["member", "kind", "occurrence", "step", "recipient"],
                condition=Q(car__isnull=True),
                name="notice_of_a_member_told_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.car or self.member}, step {self.step}, to {self.recipient}"


class UnknownSpell(models.Model):
    """Since when the book does not know of an item that may put its car off the road; gone once it is known."""

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="unknown_spells")
    kind = models.CharField(max_length=16)
    since = models.DateField()

    class Meta:
        ordering = ["car", "kind"]
        constraints = [models.UniqueConstraint(fields=["car", "kind"], name="unknown_spell_one_an_item")]

    def __str__(self) -> str:
        return f"{self.kind} of {self.car}, not known since {self.since}"


class ReminderRun(models.Model):
    """One run of the reminders with its counts, so that everyone can see when none has run.

    It served the members whose hour is ``hour`` or earlier.
    """

    day = models.DateField()
    hour = models.PositiveSmallIntegerField(default=23)
    started_at = models.DateTimeField(default=timezone.now)
    finished_at = models.DateTimeField(null=True)
    new_notice_count = models.PositiveIntegerField(default=0)
    already_told_count = models.PositiveIntegerField(default=0)
    mail_count = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["-started_at"]
        indexes = [models.Index(fields=["day", "finished_at"], name="reminder_run_of_a_day")]

    def __str__(self) -> str:
        return f"{self.day}, started {self.started_at:%H:%M}"
