"""Fuel and charge economy from brim to brim."""

from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from operator import attrgetter
from typing import NamedTuple

from costing.core.records import Fill, Period, Unit

#: Litres in one imperial gallon, exactly. Units of Measurement Regulations 1995 (SI 1995/1804), Schedule; nobody has
#: checked the figure against the text yet.
LITRES_PER_GALLON = Decimal("4.54609")
#: Kilometres in one mile, exactly (1,760 yards of 0.9144 m). Weights and Measures Act 1985, section 1; nobody has
#: checked the figure against the text yet.
KILOMETRES_PER_MILE = Decimal("1.609344")


class Economy(NamedTuple):
    """Miles pooled over brim-to-brim stretches, and the thousandths of a litre or kWh that they took.

    The figures are not rounded: round them with `money.to_places` where they are shown. A figure of another unit, or
    one that would divide by zero, is None.
    """

    unit: Unit
    miles: int
    thousandths: int

    @property
    def miles_per_gallon(self) -> Decimal | None:
        """Miles per imperial gallon (mpg)."""
        return self._miles_per("litre", LITRES_PER_GALLON)

    @property
    def litres_per_100_km(self) -> Decimal | None:
        """Litres per 100 kilometres."""
        return self._per_100_km("litre")

    @property
    def miles_per_kwh(self) -> Decimal | None:
        """Miles per kilowatt-hour."""
        return self._miles_per("kwh", Decimal(1))

    @property
    def kwh_per_100_km(self) -> Decimal | None:
        """Kilowatt-hours per 100 kilometres."""
        return self._per_100_km("kwh")

    def _miles_per(self, unit: Unit, units: Decimal) -> Decimal | None:
        if self.unit != unit or not self.thousandths:
            return None
        # Multiply first and divide once, so that a figure that comes out whole is shown as whole.
        return self.miles * 1000 * units / self.thousandths

    def _per_100_km(self, unit: Unit) -> Decimal | None:
        if self.unit != unit or not self.miles:
            return None
        return Decimal(self.thousandths) / (self.miles * 10 * KILOMETRES_PER_MILE)


class Stretch(NamedTuple):
    """The run between two brims: their days, the miles, and everything put in."""

    begins_on: date
    ends_on: date
    miles: int
    thousandths: int


def in_order(fills: Iterable[Fill]) -> list[Fill]:
    """Return the fills in the order they were bought: by day, then odometer.

    The remaining keys keep figures from depending on the order of the records: of two fills at one stop, the one that
    brimmed the tank comes later.
    """
    return sorted(fills, key=attrgetter("filled_on", "odometer", "brimmed", "thousandths", "pence"))


def stretches(fills: Iterable[Fill], unit: Unit) -> Iterator[Stretch]:
    """Yield the brim-to-brim stretches of one unit; ``fills`` are in order.

    A fill marked ``gap_before`` spoils the stretch that it ends or lies in, because a fill is missing from the book.
    The next stretch starts from it if it is brimmed, or else from the next brim.
    """
    brim: Fill | None = None
    put_in = 0
    for fill in fills:
        if fill.unit != unit:
            continue
        if fill.gap_before:
            brim = None
        put_in += fill.thousandths
        if fill.brimmed:
            if brim is not None:
                yield Stretch(brim.filled_on, fill.filled_on, fill.odometer - brim.odometer, put_in)
            brim, put_in = fill, 0


def economy(found: Iterable[Stretch], unit: Unit, period: Period) -> Economy | None:
    """Pool those of a car's `stretches` of ``unit`` that end in ``period``; None if they have no miles.

    They reach back to the brim before the first one. Miles and quantities are added up before dividing, because the
    mean of two tanks' figures is wrong.
    """
    ended = [s for s in found if period.first <= s.ends_on <= period.last]
    miles = sum(s.miles for s in ended)
    return Economy(unit, miles, sum(s.thousandths for s in ended)) if miles else None
