"""What a car showed last so long ago that it is worth reading again: its odometer, the tread of its tyres."""

from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from typing import NamedTuple

from fleet.core.findings import READING_DAYS


class Gauge(StrEnum):
    """What is read on a car, that without which less is known first."""

    ODOMETER = "odometer"
    TREAD = "tread"


#: For how many days a reading is good enough. The co-op's habit, no source.
GOOD_FOR_DAYS = {Gauge.ODOMETER: 30, Gauge.TREAD: READING_DAYS}


class Stale(NamedTuple):
    """A gauge that was last read ``days`` days ago, which is too long."""

    gauge: Gauge
    days: int


def stale_gauges(on: date, last_read: Mapping[Gauge, date | None]) -> list[Stale]:
    """Those of a car's gauges that were last read too long before ``on``; one that was never read is not among them."""
    ages = {gauge: (on - day).days for gauge in Gauge if (day := last_read.get(gauge)) is not None}
    return [Stale(gauge, days) for gauge, days in ages.items() if days > GOOD_FOR_DAYS[gauge]]
