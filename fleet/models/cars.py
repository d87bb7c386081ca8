"""The cars, who keeps them when, and their odometers."""

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from fleet.core.points import Build
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
    #: Empty for anybody who is no member, such as a finance company.
    registered_keeper = models.ForeignKey(
        Member, on_delete=models.PROTECT, related_name="registered_cars", null=True, blank=True
    )

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

    @property
    def build(self) -> Build:
        """What the car is, as far as the points of the walkaround check ask."""
        return Build(self.fuel, self.transmission, self.dual_controls, self.soft_top)


class KeeperTime(models.Model):
    """One member's time with one car, both days counted; without a last day it goes on.

    A car gets its rows at the first handover; until then it is its keeper's for all days. ``Car.keeper`` is the keeper
    of the last row, even where that row has ended and nobody has the car now. Only ``fleet.actions.keepers`` and the
    archive write rows, with the car locked: they see to it that no two overlap.
    """

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="keeper_times")
    keeper = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="keeper_times")
    from_on = models.DateField()
    to_on = models.DateField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["car", "from_on"]
        constraints = [
            models.UniqueConstraint(fields=["car", "from_on"], name="keeper_time_begins_once_a_day"),
            models.UniqueConstraint(
                fields=["car"], condition=Q(to_on__isnull=True), name="keeper_time_one_open_for_a_car"
            ),
            models.CheckConstraint(
                condition=Q(to_on__isnull=True) | Q(to_on__gte=F("from_on")), name="keeper_time_ends_after_it_starts"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.car} {self.from_on} to {self.to_on or 'now'}: {self.keeper}"


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
