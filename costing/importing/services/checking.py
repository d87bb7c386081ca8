"""Rows as the book takes them: within the bounds of each quantity, on one of the member's own cars."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from config import quantities
from config.quantities import Wrong
from config.showing import day as show_day
from costing.importing.core.rows import Fault, Row
from fleet.core.registration import read as read_mark
from fleet.models import Car, FuelKind

_QUANTITIES: Mapping[str, Any] = {
    "amount": quantities.COST_POUNDS,
    "odometer": quantities.MILES,
    "quantity": quantities.FILL,
    "count": quantities.COUNT,
    "private_miles": quantities.MILES,
    "day": quantities.DAY,
    "to_day": quantities.DAY,
    "covers_from": quantities.DAY,
    "covers_to": quantities.DAY,
}
_MAY_BE_AHEAD = {"covers_from", "covers_to"}
#: As long as the book's columns are; a bank's words may be longer, and are cut.
_LONGEST = {"payee": 120, "note": 500}


def check_rows(rows: Sequence[Row], kind: str, today: date) -> None:
    """Put a fault on each value that the book would not take."""
    for row in rows:
        for name, value in row.values.items():
            if name in _LONGEST:
                row.values[name] = value[: _LONGEST[name]]
            elif name in _QUANTITIES:
                quantity = quantities.FILL_POUNDS if kind == "fill" and name == "amount" else _QUANTITIES[name]
                _check(row, name, value, quantity, today)
        if kind == "cost":
            _check_cover(row)


def _check(row: Row, name: str, value: Any, quantity: Any, today: date) -> None:
    try:
        row.values[name] = quantity.check(value)
    except Wrong as wrong:
        row.faults.append(Fault(name, str(wrong)))
        return
    if isinstance(value, date) and value > today and name not in _MAY_BE_AHEAD:
        row.faults.append(Fault(name, f"has not come yet: {show_day(value)}"))


def _check_cover(row: Row) -> None:
    first, last = row.values.get("covers_from"), row.values.get("covers_to")
    faulty = {fault.purpose for fault in row.faults}
    if faulty & {"covers_from", "covers_to"}:
        return
    if bool(first) != bool(last):
        row.faults.append(
            Fault("covers_to" if first else "covers_from", "is empty, but the other day of the cover is not")
        )
    elif first and last and last < first:
        row.faults.append(Fault("covers_to", "is before the first day covered"))


def put_cars(rows: Sequence[Row], cars: Sequence[Car], chosen: Car) -> None:
    """Give each row its car: that of its mark, if the file tells marks, else the one chosen for all."""
    by_mark = {car.registration: car for car in cars}
    for row in rows:
        mark = row.values.pop("mark", None)
        if mark is None:
            row.values["car"] = chosen
            continue
        try:
            row.values["car"] = by_mark[read_mark(mark)]
        except ValueError as error:
            row.faults.append(Fault("mark", str(error)))
        except KeyError:
            row.faults.append(Fault("mark", "is not one of your own cars"))


def unit_of(car: Car) -> str:
    """Return what goes into a car: kWh only where there is no tank."""
    return "kwh" if car.fuel == FuelKind.ELECTRIC else "litre"
