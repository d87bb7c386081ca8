"""The condition of a car: walkaround checks, defects, answers about readiness, and tyres."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from fleet.core.defects import Severity
from fleet.core.points import GROUPS
from fleet.models.cars import Car
from fleet.models.photos import Photo
from instructors.models import Grade, Member


class CheckGroup(models.TextChoices):
    """The groups of ``fleet.core.points``."""

    OUTSIDE = "outside", GROUPS["outside"]
    FLUIDS = "fluids", GROUPS["fluids"]
    INSIDE = "inside", GROUPS["inside"]
    TUITION = "tuition", GROUPS["tuition"]


class CheckPoint(models.Model):
    """A point of the walkaround check that the co-op has added to those of ``fleet.core.points``."""

    name = models.SlugField(max_length=40, unique=True, help_text="Stored with the checks; it never changes.")
    group = models.CharField(max_length=8, choices=CheckGroup)
    words = models.CharField("what it is", max_length=80)
    look_for = models.CharField("what to look for", max_length=200, blank=True)
    added_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    retired_on = models.DateField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["group", "name"]
        constraints = [models.CheckConstraint(condition=Q(group__in=CheckGroup.values), name="check_point_group_known")]

    def __str__(self) -> str:
        return self.words


class WalkaroundCheck(models.Model):
    """One walkaround check; ``points`` names what was looked at, and each fault is a defect.

    It is written group by group, so one that was broken off holds what was looked at until then. ``is_whole`` once
    every point that applied to the car was; only such a check puts off the next one. A voided one stays for its history
    but does not count. The defects that it found stay as they are.
    """

    ref = models.CharField(max_length=64, help_text="Made by the phone: sent again, it changes nothing.")
    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="checks")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="checks")
    checked_on = models.DateField()
    points = models.JSONField(default=list, help_text="Names of the points looked at.")
    note = models.CharField(max_length=500, blank=True)
    is_whole = models.BooleanField(default=True)
    seconds = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="For how long its pages were open; empty if that is not known."
    )
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    voided_at = models.DateTimeField(null=True, blank=True, editable=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-checked_on", "-id"]
        constraints = [models.UniqueConstraint(fields=["member", "ref"], name="check_once_per_member_and_ref")]
        indexes = [models.Index(fields=["car", "checked_on"], name="check_of_a_car")]

    def __str__(self) -> str:
        return f"{self.car} checked on {self.checked_on}"


_SEVERITIES = {severity.value: severity.words for severity in Severity}


class DefectState(models.TextChoices):
    OPEN = "open", "Open"
    IN_HAND = "in_hand", "Being worked on"
    #: Only of a dangerous one: it is said to be put right, and counts as open until somebody else confirms it.
    WAITING = "waiting", "Waits for a second member"
    CLOSED = "closed", "Closed"


class Evidence(models.TextChoices):
    """What showed that a danger was over."""

    PHOTO = "photo", "A photo of the paper"
    MEMBER = "member", "A second member"


class FoundBy(models.TextChoices):
    CHECK = "check", "Walkaround check"
    MOT = "mot", "MOT test"
    OTHER = "other", "Noticed"


class Defect(models.Model):
    """Something wrong with a car, as it stands now. Its history is in its ``DefectStep`` rows."""

    ref = models.CharField(max_length=64, help_text="Made by the phone: sent again, it changes nothing.")
    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="defects")
    severity = models.CharField(max_length=18, choices=_SEVERITIES)
    description = models.CharField("what is wrong", max_length=500)
    point = models.CharField(max_length=40, blank=True, help_text="Name of the point of the check, if one.")
    found_by = models.CharField(max_length=5, choices=FoundBy, default=FoundBy.OTHER)
    found_on = models.DateField()
    walkaround = models.ForeignKey(
        WalkaroundCheck, on_delete=models.PROTECT, null=True, blank=True, related_name="defects"
    )
    reported_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    state = models.CharField(max_length=7, choices=DefectState, default=DefectState.OPEN)
    closed_on = models.DateField(null=True, blank=True)
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-found_on", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["reported_by", "ref"], name="defect_once_per_member_and_ref"),
            models.CheckConstraint(condition=Q(severity__in=list(_SEVERITIES)), name="defect_severity_known"),
            models.CheckConstraint(condition=Q(state__in=DefectState.values), name="defect_state_known"),
            models.CheckConstraint(condition=Q(found_by__in=FoundBy.values), name="defect_found_by_known"),
            models.CheckConstraint(
                condition=Q(state=DefectState.CLOSED, closed_on__isnull=False)
                | (~Q(state=DefectState.CLOSED) & Q(closed_on__isnull=True)),
                name="defect_closed_has_its_day",
            ),
            models.CheckConstraint(
                condition=~Q(state=DefectState.WAITING) | Q(severity=Severity.DANGEROUS.value),
                name="defect_waits_only_if_dangerous",
            ),
        ]
        indexes = [models.Index(fields=["car"], condition=~Q(state="closed"), name="defect_open_of_a_car")]

    def __str__(self) -> str:
        return f"{self.car}: {self.description}"


class DefectStep(models.Model):
    """One thing that happened to a defect: reported, in hand, reassessed, put right, confirmed, closed or reopened.

    ``done_by`` is the garage or person that put it right on ``happened_on``, as ``words`` say. In a step that waits for
    a second member, ``becomes`` is the severity it is to have then; empty: it is to be closed. ``began_with`` is the
    first step of the same event, if several were recorded at once: one mail tells of them all. ``cost_ref`` is the
    reference of the cost entry its member logged with it: what it cost is not the fleet's.
    """

    defect = models.ForeignKey(Defect, on_delete=models.PROTECT, related_name="steps")
    state = models.CharField(max_length=7, choices=DefectState)
    severity = models.CharField(max_length=18, choices=_SEVERITIES)
    happened_on = models.DateField()
    words = models.CharField(max_length=500, blank=True)
    done_by = models.CharField(max_length=120, blank=True)
    becomes = models.CharField(max_length=18, choices=_SEVERITIES, blank=True)
    evidence = models.CharField(max_length=6, choices=Evidence, blank=True)
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    cost_ref = models.CharField(max_length=64, blank=True)
    began_with = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(condition=Q(state__in=DefectState.values), name="defect_step_state_known"),
            models.CheckConstraint(condition=Q(severity__in=list(_SEVERITIES)), name="defect_step_severity_known"),
            models.CheckConstraint(condition=Q(becomes__in=["", *_SEVERITIES]), name="defect_step_becomes_known"),
            models.CheckConstraint(condition=Q(evidence__in=["", *Evidence.values]), name="defect_step_evidence_known"),
        ]

    def __str__(self) -> str:
        return f"{self.defect}: {self.state} on {self.happened_on}"


class Confirmation(models.Model):
    """Somebody's answer to a point of readiness that no other record covers.

    ``point`` is a name in ``fleet.core.requirements``; for one car and point the latest day counts. ``grade`` is that
    of the car's keeper, for whom a policy was found to cover tuition: some leave out trainees.
    """

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="confirmations")
    point = models.CharField(max_length=40)
    confirmed_on = models.DateField()
    is_met = models.BooleanField()
    grade = models.CharField(max_length=3, choices=Grade, blank=True)
    by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    history = HistoricalRecords()

    class Meta:
        ordering = ["-confirmed_on", "point"]
        constraints = [
            models.UniqueConstraint(fields=["car", "point", "confirmed_on"], name="confirmation_once_a_day"),
        ]

    def __str__(self) -> str:
        return f"{self.car}, {self.point}: {'met' if self.is_met else 'not met'} on {self.confirmed_on}"


class Wheel(models.TextChoices):
    FRONT_LEFT = "front_left", "Front left"
    FRONT_RIGHT = "front_right", "Front right"
    REAR_LEFT = "rear_left", "Rear left"
    REAR_RIGHT = "rear_right", "Rear right"


_DEPTH = (MinValueValidator(Decimal(0)), MaxValueValidator(Decimal("15.0")))


class TreadReading(models.Model):
    """Tread of one tyre in mm, by inner, centre and outer; the lowest governs."""

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="tread_readings")
    wheel = models.CharField(max_length=11, choices=Wheel)
    read_on = models.DateField()
    inner = models.DecimalField(max_digits=3, decimal_places=1, validators=_DEPTH)
    centre = models.DecimalField(max_digits=3, decimal_places=1, validators=_DEPTH)
    outer = models.DecimalField(max_digits=3, decimal_places=1, validators=_DEPTH)
    by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    history = HistoricalRecords()

    class Meta:
        ordering = ["-read_on", "wheel"]
        constraints = [
            models.UniqueConstraint(fields=["car", "wheel", "read_on"], name="tread_once_a_wheel_and_day"),
            models.CheckConstraint(condition=Q(wheel__in=Wheel.values), name="tread_wheel_known"),
            models.CheckConstraint(
                condition=Q(inner__gte=0, centre__gte=0, outer__gte=0, inner__lte=15, centre__lte=15, outer__lte=15),
                name="tread_between_0_and_15_mm",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.car} {self.wheel} {self.read_on}"


class TyreMove(models.Model):
    """The tyre that came to one wheel on one day: from another wheel, or new where ``came_from`` is empty."""

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="tyre_moves")
    moved_on = models.DateField()
    wheel = models.CharField(max_length=11, choices=Wheel)
    came_from = models.CharField(max_length=11, choices=Wheel, blank=True)
    by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    history = HistoricalRecords()

    class Meta:
        ordering = ["-moved_on", "wheel"]
        constraints = [
            models.UniqueConstraint(fields=["car", "wheel", "moved_on"], name="tyre_move_once_a_wheel_and_day"),
            models.CheckConstraint(condition=Q(wheel__in=Wheel.values), name="tyre_move_wheel_known"),
            models.CheckConstraint(
                condition=Q(came_from__in=["", *Wheel.values]) & ~Q(came_from=models.F("wheel")),
                name="tyre_move_from_another_wheel",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.car} {self.wheel} on {self.moved_on}: {self.came_from or 'new'}"
