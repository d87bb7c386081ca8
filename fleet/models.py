"""The cars, their odometers, what falls due on them, and what was told to whom."""

import uuid

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from fleet.core.kinds import KINDS
from instructors.models import Member


class FuelKind(models.TextChoices):
    PETROL = "petrol", "Petrol"
    DIESEL = "diesel", "Diesel"
    HYBRID = "hybrid", "Hybrid"
    PLUGIN_HYBRID = "plugin_hybrid", "Plug-in hybrid"
    ELECTRIC = "electric", "Electric"


class Transmission(models.TextChoices):
    MANUAL = "manual", "Manual"
    AUTOMATIC = "automatic", "Automatic"


class Car(models.Model):
    """One tuition car, its keeper and the days it was in service."""

    registration = models.CharField(
        "registration mark", max_length=8, unique=True, help_text="Stored in capitals without spaces."
    )
    description = models.CharField(max_length=120, blank=True)
    keeper = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="cars")
    fuel = models.CharField(max_length=13, choices=FuelKind)
    transmission = models.CharField(max_length=9, choices=Transmission, default=Transmission.MANUAL)
    soft_top = models.BooleanField(default=False)
    dual_controls = models.BooleanField(default=True)
    first_registered = models.DateField("first registered on", null=True, blank=True)
    co2_g_km = models.PositiveSmallIntegerField("CO2 in g/km", null=True, blank=True)
    in_service_from = models.DateField()
    in_service_to = models.DateField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["registration"]
        constraints = [
            models.CheckConstraint(
                condition=Q(registration__regex=r"^[A-Z0-9]{2,8}$"), name="car_registration_normalised"
            ),
            models.CheckConstraint(condition=Q(fuel__in=FuelKind.values), name="car_fuel_known"),
            models.CheckConstraint(condition=Q(transmission__in=Transmission.values), name="car_transmission_known"),
            models.CheckConstraint(
                condition=Q(in_service_to__isnull=True) | Q(in_service_to__gte=F("in_service_from")),
                name="car_service_ends_after_it_starts",
            ),
        ]

    def __str__(self) -> str:
        return self.registration


class OdometerReading(models.Model):
    """Miles shown on one day; never falls for one car (a trigger keeps it so, together with the fills)."""

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="odometer_readings")
    read_on = models.DateField()
    miles = models.PositiveIntegerField()

    history = HistoricalRecords()

    class Meta:
        ordering = ["car", "read_on"]
        constraints = [models.UniqueConstraint(fields=["car", "read_on"], name="odometer_once_a_day")]

    def __str__(self) -> str:
        return f"{self.car} {self.read_on}: {self.miles}"


class DueKind(models.TextChoices):
    """The kinds of ``fleet.core.kinds``, which says all else about them."""

    MOT = "mot", KINDS["mot"].words
    VEHICLE_TAX = "vehicle_tax", KINDS["vehicle_tax"].words
    INSURANCE = "insurance", KINDS["insurance"].words
    SERVICE = "service", KINDS["service"].words
    TYRES = "tyres", KINDS["tyres"].words
    DUAL_CONTROLS = "dual_controls", KINDS["dual_controls"].words
    BREAKDOWN_COVER = "breakdown_cover", KINDS["breakdown_cover"].words
    ADI_REGISTRATION = "adi_registration", KINDS["adi_registration"].words
    PDI_LICENCE = "pdi_licence", KINDS["pdi_licence"].words
    DRIVING_LICENCE = "driving_licence", KINDS["driving_licence"].words
    OTHER = "other", KINDS["other"].words


class DueItem(models.Model):
    """Something that falls due on a day, at a mileage, or whichever is first, for one car or one member.

    One row a subject and kind: meeting it moves the row on to the next day or mileage and leaves a
    ``Completion`` behind. ``closed_on`` is set when it was met and does not come back.
    """

    car = models.ForeignKey(Car, on_delete=models.PROTECT, null=True, blank=True, related_name="due_items")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="due_items")
    kind = models.CharField(max_length=16, choices=DueKind)
    due_on = models.DateField(null=True, blank=True)
    due_miles = models.PositiveIntegerField(null=True, blank=True)
    every_months = models.PositiveSmallIntegerField(null=True, blank=True, validators=[MinValueValidator(1)])
    every_miles = models.PositiveIntegerField(null=True, blank=True, validators=[MinValueValidator(1)])
    booked_for = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)
    closed_on = models.DateField(null=True, blank=True, editable=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ["due_on", "kind"]
        constraints = [
            models.CheckConstraint(
                condition=Q(car__isnull=False, member__isnull=True) | Q(car__isnull=True, member__isnull=False),
                name="due_item_of_a_car_or_a_member",
            ),
            models.CheckConstraint(condition=Q(kind__in=DueKind.values), name="due_item_kind_known"),
            models.CheckConstraint(
                condition=Q(every_months__isnull=True) | Q(every_months__gte=1),
                name="due_item_every_some_months",
            ),
            models.CheckConstraint(
                condition=Q(every_miles__isnull=True) | Q(every_miles__gte=1),
                name="due_item_every_some_miles",
            ),
            models.UniqueConstraint(
                fields=["car", "kind"], condition=Q(closed_on__isnull=True), name="due_item_open_once_per_car"
            ),
            models.UniqueConstraint(
                fields=["member", "kind"],
                condition=Q(closed_on__isnull=True),
                name="due_item_open_once_per_member",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.car or self.member}"


class Completion(models.Model):
    """How a due item was met: what was due, when it was done, and by whom that was recorded."""

    due_item = models.ForeignKey(DueItem, on_delete=models.PROTECT, related_name="completions")
    was_due_on = models.DateField(null=True, blank=True)
    was_due_miles = models.PositiveIntegerField(null=True, blank=True)
    done_on = models.DateField()
    odometer = models.PositiveIntegerField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(default=timezone.now, editable=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-done_on", "-id"]
        constraints = [
            # What is met twice on one day was recorded twice: the second would roll the item on once more.
            models.UniqueConstraint(fields=["due_item", "done_on"], name="completion_once_a_day"),
        ]

    def __str__(self) -> str:
        return f"{self.due_item} done {self.done_on}"


class MailState(models.TextChoices):
    QUEUED = "queued", "Waiting to be sent"
    SENDING = "sending", "Being sent"
    SENT = "sent", "Sent"
    SUPERSEDED = "superseded", "Not needed any more"


class ReminderMail(models.Model):
    """The one reminder e-mail to one member on one day: a row is claimed before its message goes.

    A refused message goes back to ``queued`` with the server's words in ``last_error`` and a time for the
    next attempt. ``message_id`` stays the same over every attempt.
    """

    recipient = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="reminder_mails")
    day = models.DateField()
    state = models.CharField(max_length=10, choices=MailState, default=MailState.QUEUED)
    message_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    attempt_count = models.PositiveSmallIntegerField(default=0)
    next_attempt_at = models.DateTimeField(default=timezone.now)
    claimed_at = models.DateTimeField(null=True)
    claimed_by = models.CharField(max_length=120, blank=True)
    sent_at = models.DateTimeField(null=True)
    last_error = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["-day", "recipient"]
        constraints = [
            models.UniqueConstraint(fields=["recipient", "day"], name="reminder_mail_one_a_member_a_day"),
            models.CheckConstraint(condition=Q(state__in=MailState.values), name="reminder_mail_state_known"),
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
    """One run of the reminders with its counts: silence must be visible."""

    day = models.DateField()
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
