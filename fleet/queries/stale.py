"""When each car's odometer and tyres were last read."""

from collections.abc import Collection, Mapping
from datetime import date

from django.db import connection

from fleet.core.odometer import Odometer
from fleet.core.stale import Gauge, Stale, stale_gauges
from fleet.queries.plain import day_of, places

#: When each wheel of a car was last read, and when it last got a new tyre.
_TREADS = """
SELECT car_id, wheel, MAX(read_on), TRUE FROM fleet_treadreading WHERE car_id IN ({ids}) AND read_on <= %s
GROUP BY car_id, wheel
UNION ALL SELECT car_id, wheel, MAX(moved_on), FALSE FROM fleet_tyremove
WHERE car_id IN ({ids}) AND moved_on <= %s AND came_from = '' GROUP BY car_id, wheel"""


def stale_readings_of(odometers: Mapping[int, Odometer], on: date) -> dict[int, list[Stale]]:
    """What was last read too long before ``on``, of the cars whose ``odometers`` are given by car id.

    It takes one query however many cars there are.
    """
    treads = _treads_read_on(odometers.keys(), on)
    last_read: dict[int, dict[Gauge, date | None]] = {
        car_id: {Gauge.ODOMETER: odometer.last_on if odometer else None, Gauge.TREAD: treads.get(car_id)}
        for car_id, odometer in odometers.items()
    }
    return {car_id: stale_gauges(on, read) for car_id, read in last_read.items()}


def _treads_read_on(car_ids: Collection[int], on: date) -> dict[int, date]:
    """The day on which the wheel that was left longest was last read, or got a new tyre, by car id.

    A car of which no tread was ever read is absent.
    """
    if not car_ids:
        return {}
    ids = list(car_ids)
    with connection.cursor() as cursor:
        cursor.execute(_TREADS.format(ids=places(ids)), [*ids, on, *ids, on])
        found = [(car_id, wheel, day_of(day), bool(is_reading)) for car_id, wheel, day, is_reading in cursor.fetchall()]
    lasts: dict[tuple[int, str], date] = {}
    for car_id, wheel, day, _ in found:
        lasts[car_id, wheel] = max(day, lasts.get((car_id, wheel), day))
    read = {car_id for car_id, _, _, is_reading in found if is_reading}
    return {car_id: min(day for (of, _), day in lasts.items() if of == car_id) for car_id in read}
