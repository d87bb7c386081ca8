"""What is saved together and undone together, what repeats, and which payee's payments are of which category."""

import uuid

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from config.showing import day
from costing.core.catalogue.costs import ENTRY_CATEGORIES, ENTRY_CHOICES
from fleet.models import Car
from instructors.models import Member

_CATEGORIES = [category.name for category in ENTRY_CATEGORIES]


def category_field() -> models.CharField:
    """Return a column for the name of a cost category that entries may have."""
    return models.CharField(max_length=max(map(len, _CATEGORIES)), choices=ENTRY_CHOICES)


class BatchKind(models.TextChoices):
    WEEK = "week", "A week of lessons"
    IMPORT = "import", "An import"


class Batch(models.Model):
    """Entries that were saved together, so that one undo takes them all back.

    Its id is the reference of the page that saved it: sending that page again finds the batch. Entries that it replaced
    are voided, and name it in ``replaced_by``; undoing it puts them back.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=6, choices=BatchKind)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    undone_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-created_at"]
        verbose_name_plural = "batches"
        constraints = [models.CheckConstraint(condition=Q(kind__in=BatchKind.values), name="batch_kind_known")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.created_at:%Y-%m-%d}"


class Interval(models.TextChoices):
    WEEK = "week", "Every week"
    MONTH = "month", "Every month"
    QUARTER = "quarter", "Every three months"
    YEAR = "year", "Every year"


def _more_pounds() -> models.DecimalField:
    return models.DecimalField(max_digits=9, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)])


class Repeat(models.Model):
    """A cost that comes again: the nightly task makes one entry for each day on which it falls due.

    Due days are counted from ``starts_on``: a month after 31 January is 28 February. ``in_arrears``, the first of them
    comes a month after it, as an agreement's does, else on it. ``payments`` bounds how many there are, and no entry is
    made after ``stopped_on``. Each entry covers the days up to the next due day if ``covers_its_days``. ``made_until``
    is the last due day of which an entry was made, or taken as made. From ``next_amount_from`` on each is of
    ``next_amount``; the ``fees`` come on top of the first, the ``final_payment`` on top of the last.
    """

    ref = models.CharField(max_length=64, unique=True, editable=False)
    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="+")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    category = category_field()
    amount = models.DecimalField(max_digits=9, decimal_places=2, validators=[MinValueValidator(0)])
    interval = models.CharField(max_length=7, choices=Interval)
    starts_on = models.DateField()
    in_arrears = models.BooleanField(default=False)
    payments = models.PositiveSmallIntegerField(null=True, blank=True)
    fees = _more_pounds()
    final_payment = _more_pounds()
    next_amount = _more_pounds()
    next_amount_from = models.DateField(null=True, blank=True)
    covers_its_days = models.BooleanField(default=False)
    supplier = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=500, blank=True)
    stopped_on = models.DateField(null=True, blank=True)
    made_until = models.DateField(null=True, blank=True, editable=False)
    agreement = models.ForeignKey(
        "costing.Agreement", on_delete=models.SET_NULL, null=True, blank=True, related_name="repeats"
    )
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ["car", "category", "starts_on", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(category__in=_CATEGORIES), name="repeat_category_known"),
            models.CheckConstraint(condition=Q(interval__in=Interval.values), name="repeat_interval_known"),
            models.CheckConstraint(condition=Q(amount__gt=0), name="repeat_of_some_amount"),
            models.CheckConstraint(
                condition=Q(payments__isnull=True) | Q(payments__gte=1), name="repeat_of_some_payments"
            ),
            models.CheckConstraint(
                condition=Q(made_until__isnull=True) | Q(made_until__gte=F("starts_on")),
                name="repeat_made_from_its_start",
            ),
            *(
                models.CheckConstraint(
                    condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gt": 0}),
                    name=f"repeat_{field}_of_some_amount",
                )
                for field in ("fees", "final_payment", "next_amount")
            ),
            models.CheckConstraint(
                condition=Q(final_payment__isnull=True) | Q(payments__isnull=False),
                name="repeat_ends_with_a_final_payment",
            ),
            models.CheckConstraint(
                condition=Q(next_amount__isnull=True, next_amount_from__isnull=True)
                | Q(next_amount__isnull=False, next_amount_from__isnull=False),
                name="repeat_changes_on_a_day",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_category_display()}, {self.get_interval_display().lower()} from {day(self.starts_on)}"


class Payee(models.Model):
    """The category of what a member last took from a bank statement for one payee; ``name`` is in lower case."""

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=120)
    category = category_field()

    class Meta:
        ordering = ["member", "name"]
        constraints = [
            models.UniqueConstraint(fields=["member", "name"], name="payee_once_a_member"),
            models.CheckConstraint(condition=Q(category__in=_CATEGORIES), name="payee_category_known"),
        ]

    def __str__(self) -> str:
        return self.name
