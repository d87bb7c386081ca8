"""What was told to whom, and the runs that told it."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from config.outbox import MailState, OutgoingMail
from fleet.models.due import DueItem
from instructors.models import Member


class MailKind(models.TextChoices):
    """What a mail is for, which decides what it says."""

    REMINDER = "reminder", "What falls due"
    ASKED = "asked", "A coordinator's reminder"
    DEFECT = "defect", "A car off the road"
    ALARM = "alarm", "Reminders have stopped"


class ReminderMail(OutgoingMail):
    """One e-mail to one member: a row is claimed before its message goes.

    Of reminders, coordinators' reminders and alarms there is one a member a day; of a defect one for each time
    it puts its car off the road, which ``about`` tells apart.
    """

    recipient = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="reminder_mails")
    day = models.DateField()
    kind = models.CharField(max_length=8, choices=MailKind, default=MailKind.REMINDER)
    about = models.CharField(max_length=40, blank=True)
    asked_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

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
    """One step of one due item told to one recipient, once.

    ``occurrence`` says which time round it is (the recorded due day and mileage); ``step`` is the days before
    the due day, 0 on the day, negative once overdue.
    """

    due_item = models.ForeignKey(DueItem, on_delete=models.PROTECT, related_name="notices")
    occurrence = models.CharField(max_length=40)
    step = models.SmallIntegerField()
    recipient = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="notices")
    mail = models.ForeignKey(ReminderMail, on_delete=models.PROTECT, related_name="notices")
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["due_item", "occurrence", "step", "recipient"], name="notice_told_once"),
        ]

    def __str__(self) -> str:
        return f"{self.due_item}, step {self.step}, to {self.recipient}"


class ReminderRun(models.Model):
    """One run of the reminders with its counts: silence must be visible.

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
