"""When each car's odometer and tyres were last read."""

from collections.abc import Collection
from datetime import date

from fleet.core.odometer import Odometer
from fleet.core.stale import Gauge, Stale, stale_gauges
from fleet.queries.due import CarDue


def stale_readings_of(cars: Collection[tuple[CarDue, Odometer]], on: date) -> dict[int, list[Stale]]:
    """What was last read too long before ``on``, by car id, of cars with their odometers.

    Their report is one `with_treads`.
    """
    return {
        due.car.pk: stale_gauges(
            on, {Gauge.ODOMETER: odometer.last_on if odometer else None, Gauge.TREAD: due.condition.tread_read_on}
        )
        for due, odometer in cars
    }
