"""The weekly pot: what a member has in it and plans, and the bills and quotes that they typed. As private as costs."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from fleet.models import Car
from instructors.models import Member

#: Longest illness that is planned for, in weeks.
MOST_WEEKS_ILL = 26


def _pounds(*, may_lack: bool = False) -> models.DecimalField:
    return models.DecimalField(
        max_digits=9, decimal_places=2, validators=[MinValueValidator(0)], null=may_lack, blank=may_lack
    )


class PotPlan(models.Model):
    """What is in a member's pot, what they put by, and when they put nothing by. One a member.

    ``holidays`` are pairs of ISO days, first and last. ``hire_pauses``: whether a hire asks for nothing while its payer
    is ill. ``keeps_car``: whether the final payment is made where the car may go back instead; None is not told.
    """

    member = models.OneToOneField(Member, on_delete=models.PROTECT, related_name="+")
    balance = _pounds()
    balance_on = models.DateField()
    weekly = _pounds(may_lack=True)
    holidays = models.JSONField(default=list, blank=True)
    ill_weeks = models.PositiveSmallIntegerField(null=True, blank=True, validators=[MaxValueValidator(MOST_WEEKS_ILL)])
    hire_pauses = models.BooleanField(default=False)
    keeps_car = models.BooleanField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(balance__gte=0), name="pot_not_below_nought"),
            models.CheckConstraint(
                condition=Q(weekly__isnull=True) | Q(weekly__gte=0), name="pot_weekly_not_below_nought"
            ),
        ]

    def __str__(self) -> str:
        return f"pot on {self.balance_on}"


class PotBill(models.Model):
    """A bill that a member typed, or a quote for what falls due (``kind``), for one car, all cars, or themselves.

    A quote without ``due_on`` falls on the day of what it is for. ``words`` name what has no kind. A voided one stays
    for its history but does not count.
    """

    ref = models.CharField(max_length=64, unique=True, editable=False)
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    car = models.ForeignKey(Car, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    kind = models.CharField(max_length=16)
    words = models.CharField(max_length=80, blank=True)
    amount = _pounds()
    due_on = models.DateField(null=True, blank=True)
    is_yearly = models.BooleanField(default=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    voided_at = models.DateTimeField(null=True, blank=True, editable=False)

    history = HistoricalRecords()

    class Meta:
        ordering = [F("due_on").asc(nulls_last=True), "pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(kind=""), name="pot_bill_of_some_kind"),
            models.CheckConstraint(condition=Q(amount__gte=0), name="pot_bill_not_below_nought"),
        ]
        indexes = [models.Index(fields=["member"], name="pot_bill_of_member")]

    def __str__(self) -> str:
        return self.words or self.kind
