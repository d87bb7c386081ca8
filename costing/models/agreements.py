"""Agreements, which say how cars are held, and valuations."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from costing.core.catalogue.agreements import AGREEMENT_CHOICES, AGREEMENT_KINDS
from fleet.models import Car
from instructors.models import Member


class PaymentFrequency(models.TextChoices):
    MONTH = "month", "Monthly"
    WEEK = "week", "Weekly"


def agreement_kind_field() -> models.CharField:
    """Return a column for the name of a kind of agreement."""
    return models.CharField(max_length=max(map(len, AGREEMENT_KINDS)), choices=AGREEMENT_CHOICES)


def agreement_kind_known(name: str) -> models.CheckConstraint:
    """Return the check, called ``name``, that the column ``kind`` holds one of them."""
    return models.CheckConstraint(condition=Q(kind__in=list(AGREEMENT_KINDS)), name=name)


def _money_field(help_text: str = "") -> models.DecimalField:
    return models.DecimalField(
        max_digits=9, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)], help_text=help_text
    )


class Agreement(models.Model):
    """How a car is held from one day on. ``member`` pays: the keeper when it was recorded."""

    car = models.ForeignKey(Car, on_delete=models.PROTECT)
    member = models.ForeignKey(Member, on_delete=models.PROTECT)
    starts_on = models.DateField()
    kind = agreement_kind_field()
    price = _money_field("Cash price of the car, in pounds.")
    deposit = _money_field("Deposit, part exchange included, or the initial rental.")
    payment = _money_field()
    payments = models.PositiveSmallIntegerField(null=True, blank=True)
    frequency = models.CharField(max_length=5, choices=PaymentFrequency, blank=True)
    final_payment = _money_field("Due with the last payment.")
    fees = _money_field("Due with the first payment.")
    quoted_apr = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    mileage_allowance = models.PositiveIntegerField("miles allowed a year", null=True, blank=True)
    excess_pence_per_mile = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["car", "starts_on"]
        constraints = [
            models.UniqueConstraint(fields=["car", "starts_on"], name="agreement_once_a_day"),
            agreement_kind_known("agreement_kind_known"),
            models.CheckConstraint(
                condition=Q(frequency="") | Q(frequency__in=PaymentFrequency.values),
                name="agreement_frequency_known",
            ),
            *(
                models.CheckConstraint(
                    condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gte": 0}),
                    name=f"agreement_{field}_not_negative",
                )
                for field in ("price", "deposit", "payment", "final_payment", "fees")
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} from {self.starts_on}"


class Valuation(models.Model):
    """What a car is worth on one day. ``member`` recorded it: the keeper at the time."""

    car = models.ForeignKey(Car, on_delete=models.PROTECT)
    member = models.ForeignKey(Member, on_delete=models.PROTECT)
    valued_on = models.DateField()
    value = models.DecimalField(max_digits=9, decimal_places=2, validators=[MinValueValidator(0)])

    history = HistoricalRecords()

    class Meta:
        ordering = ["car", "valued_on"]
        constraints = [
            models.UniqueConstraint(fields=["car", "valued_on"], name="valuation_once_a_day"),
            models.CheckConstraint(condition=Q(value__gte=0), name="valuation_not_negative"),
        ]

    def __str__(self) -> str:
        return f"worth on {self.valued_on}"
