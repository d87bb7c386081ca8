"""The record of acts, and the mails that tell members of them."""

from datetime import date

from django.db import models
from django.db.models import Q
from django.utils import timezone

from config.outbox import MailState, OutgoingMail
from instructors.models.people import Member


class ActKind(models.TextChoices):
    """What an act is about; a member's record page has a tab for each."""

    SIGN_IN = "sign_in", "Signing in"
    PERSON = "person", "You"
    CAR = "car", "Cars"
    READING = "reading", "Odometer"
    CONDITION = "condition", "Due dates and defects"
    SETTINGS = "settings", "Co-op settings"
    COPY = "copy", "Calendars, downloads"


class ActMail(OutgoingMail):
    """One e-mail that tells a member, present or former, of one or more acts by the same person."""

    recipient = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="act_mails")
    by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=Q(state__in=MailState.values), name="act_mail_state_known")]
        indexes = [models.Index(fields=["state", "next_attempt_at"], name="act_mail_to_send")]

    def __str__(self) -> str:
        return f"To {self.recipient}: {self.state}"

    @property
    def made_on(self) -> date:
        """The day on which the mail was queued."""
        return timezone.localdate(self.created_at)


class Act(models.Model):
    """One thing done that concerns a member. It never holds a sum of money.

    ``by`` is null if nobody signed in did it: the holder of a link, or the server itself. ``subject`` is a stable key
    of what it was done to ("car:12", "member:7", "settings"), and ``about`` is what people call that. ``field`` names
    what was changed ("in_service_to", "reading:2026-03-05") or what happened ("signed_in"); ``instructors.wording``
    has the words. ``was`` and ``now`` are texts: 2026-03-05 for a day, "member:7" for a member, empty for nothing. An
    act with a ``mail`` is told at once, and ``told_at`` is when the mail server (or the mail folder) took that mail.
    """

    happened_at = models.DateTimeField(default=timezone.now, editable=False)
    by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    concerns = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="acts")
    kind = models.CharField(max_length=9, choices=ActKind)
    subject = models.CharField(max_length=40, blank=True)
    about = models.CharField(max_length=60, blank=True)
    field = models.CharField(max_length=40, blank=True)
    was = models.CharField(max_length=200, blank=True)
    now = models.CharField(max_length=200, blank=True)
    mail = models.ForeignKey(ActMail, on_delete=models.PROTECT, null=True, related_name="acts")
    told_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-happened_at", "-pk"]
        constraints = [models.CheckConstraint(condition=Q(kind__in=ActKind.values), name="act_kind_known")]
        indexes = [
            models.Index(fields=["concerns", "-happened_at"], name="act_record_of"),
            models.Index(fields=["happened_at"], name="act_age"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.field} of {self.concerns}"
