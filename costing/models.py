"""What was paid, put in the tank and taught, how cars are held, and the group's frozen figures.

Money is ``Decimal`` pounds with two places here and whole pence in the calculations. A record made on a
phone carries a ``ref`` made there: sent again, it changes nothing.
"""

from typing import Self

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from fleet.models import Car
from instructors.models import Member


class EntryQuerySet(models.QuerySet):
    def standing(self) -> Self:
        """The entries that count: all but the voided ones."""
        return self.filter(voided_at__isnull=True)


class Entry(models.Model):
    """What every record a member logs has in common. A voided entry stays for its history and counts nowhere."""

    ref = models.CharField(max_length=64, unique=True, editable=False)
    car = models.ForeignKey(Car, on_delete=models.PROTECT)
    member = models.ForeignKey(Member, on_delete=models.PROTECT)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    voided_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = EntryQuerySet.as_manager()

    class Meta:
        abstract = True


class CostCategory(models.TextChoices):
    INSURANCE = "insurance", "Insurance"
    VEHICLE_TAX = "vehicle_tax", "Vehicle tax"
    MOT = "mot", "MOT"
    SERVICING = "servicing", "Servicing"
    REPAIRS = "repairs", "Repairs"
    TYRES = "tyres", "Tyres"
    FIT_OUT = "fit_out", "Fit-out: dual controls, plates, mirror"
    BREAKDOWN_COVER = "breakdown_cover", "Breakdown cover"
    FINANCE = "finance", "Finance instalment"
    RENTAL = "rental", "Rental payment"
    CLEANING = "cleaning", "Cleaning"
    PARKING_TOLLS = "parking_tolls", "Parking and tolls"
    OTHER = "other", "Other"


class CostEntry(Entry):
    """One sum paid (or refunded, negative) for one car, in one category, with the cover it bought."""

    paid_on = models.DateField()
    category = models.CharField(max_length=15, choices=CostCategory)
    amount = models.DecimalField(max_digits=9, decimal_places=2)
    covers_from = models.DateField(null=True, blank=True)
    covers_to = models.DateField(null=True, blank=True)
    covers_miles = models.PositiveIntegerField(null=True, blank=True)
    ended_on = models.DateField(null=True, blank=True)
    supplier = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=500, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-paid_on", "-id"]
        verbose_name_plural = "cost entries"
        constraints = [
            models.CheckConstraint(condition=Q(category__in=CostCategory.values), name="cost_category_known"),
            models.CheckConstraint(
                condition=Q(covers_from__isnull=True, covers_to__isnull=True)
                | Q(covers_from__isnull=False, covers_to__isnull=False),
                name="cost_cover_has_both_days",
            ),
            models.CheckConstraint(
                condition=Q(covers_to__isnull=True) | Q(covers_to__gte=F("covers_from")),
                name="cost_cover_ends_after_it_starts",
            ),
            models.CheckConstraint(
                condition=Q(covers_from__isnull=True) | Q(covers_miles__isnull=True),
                name="cost_cover_by_days_or_by_miles",
            ),
            models.CheckConstraint(
                condition=Q(covers_miles__isnull=True) | Q(covers_miles__gte=1),
                name="cost_cover_of_some_miles",
            ),
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True) | Q(covers_from__isnull=False) | Q(covers_miles__isnull=False),
                name="cost_ends_only_with_cover",
            ),
        ]
        indexes = [
            models.Index(fields=["car", "paid_on"], name="cost_of_car_by_day"),
            models.Index(fields=["member", "-paid_on"], name="cost_of_member_newest"),
        ]

    def __str__(self) -> str:
        return f"{self.get_category_display()} {self.paid_on}"


class FillUnit(models.TextChoices):
    LITRE = "litre", "litres"
    KWH = "kwh", "kWh"


class Fill(Entry):
    """Fuel or charge bought, with the odometer; ``full`` when brimmed."""

    filled_on = models.DateField()
    odometer = models.PositiveIntegerField()
    quantity = models.DecimalField(max_digits=7, decimal_places=3, help_text="Litres or kWh.")
    unit = models.CharField(max_length=5, choices=FillUnit)
    amount = models.DecimalField(max_digits=7, decimal_places=2, validators=[MinValueValidator(0)])
    full = models.BooleanField(default=True)
    missed_previous = models.BooleanField(default=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-filled_on", "-odometer", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(unit__in=FillUnit.values), name="fill_unit_known"),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="fill_of_some_quantity"),
            models.CheckConstraint(condition=Q(amount__gte=0), name="fill_amount_not_negative"),
        ]
        indexes = [
            models.Index(fields=["car", "filled_on"], name="fill_of_car_by_day"),
            models.Index(fields=["member", "-filled_on"], name="fill_of_member_newest"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.unit} {self.filled_on}"


class TeachingRecord(Entry):
    """Lessons and lesson minutes taught in one car over a span of days, and private miles."""

    from_on = models.DateField()
    to_on = models.DateField()
    lesson_count = models.PositiveSmallIntegerField()
    minutes = models.PositiveIntegerField()
    private_miles = models.PositiveIntegerField(default=0)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-to_on", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(to_on__gte=F("from_on")), name="teaching_ends_after_it_starts"),
        ]
        indexes = [
            models.Index(fields=["car", "from_on"], name="teaching_of_car_by_day"),
            models.Index(fields=["member", "-to_on"], name="teaching_of_member_newest"),
        ]

    def __str__(self) -> str:
        return f"{self.lesson_count} lessons, {self.from_on} to {self.to_on}"


class AgreementKind(models.TextChoices):
    OWNED = "owned", "Owned outright"
    HIRE_PURCHASE = "hire_purchase", "Hire purchase"
    PCP = "pcp", "PCP, personal contract purchase"
    CONTRACT_HIRE = "contract_hire", "Contract hire"
    WEEKLY_RENTAL = "weekly_rental", "Weekly rental"


class PaymentFrequency(models.TextChoices):
    MONTH = "month", "Monthly"
    WEEK = "week", "Weekly"


def _money_field(help_text: str = "") -> models.DecimalField:
    return models.DecimalField(
        max_digits=9, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)], help_text=help_text
    )


class Agreement(models.Model):
    """How a car is held from one day on. ``member`` is whose money it is: the keeper when it was recorded."""

    car = models.ForeignKey(Car, on_delete=models.PROTECT)
    member = models.ForeignKey(Member, on_delete=models.PROTECT)
    starts_on = models.DateField()
    kind = models.CharField(max_length=13, choices=AgreementKind)
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
            models.CheckConstraint(condition=Q(kind__in=AgreementKind.values), name="agreement_kind_known"),
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
    """What a car is worth on one day. ``member`` is who had it valued: the keeper when it was recorded."""

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


class Span(models.TextChoices):
    MONTH = "month", "One month"
    YEAR = "year", "The 12 months ending with it"


class GroupFigure(models.Model):
    """The group's figures of one closed month, frozen; money in whole pence.

    ``revision`` 0 is what the closing found. A correction made since shows as a further revision, made at
    the closing of a later month. Below the minimum of contributors no figure is stored at all.
    """

    month = models.DateField(help_text="First day of the month.")
    span = models.CharField(max_length=5, choices=Span)
    revision = models.PositiveSmallIntegerField(default=0)
    closed_at = models.DateTimeField(default=timezone.now)
    contributor_count = models.PositiveSmallIntegerField()
    median_cost_per_lesson_pence = models.IntegerField(null=True)
    median_cost_per_lesson_hour_pence = models.IntegerField(null=True)
    median_cost_per_mile_pence = models.IntegerField(null=True)
    lower_quartile_cost_per_lesson_hour_pence = models.IntegerField(null=True)
    upper_quartile_cost_per_lesson_hour_pence = models.IntegerField(null=True)

    class Meta:
        ordering = ["month", "span", "revision"]
        constraints = [
            models.UniqueConstraint(fields=["month", "span", "revision"], name="group_figure_once"),
            models.CheckConstraint(condition=Q(span__in=Span.values), name="group_figure_span_known"),
        ]

    def __str__(self) -> str:
        return f"{self.month:%Y-%m} {self.span}"
