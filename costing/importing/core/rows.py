"""Rows as they are meant: each with its values by name, or with why it cannot be read and in which column."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from costing.core.third import amount_of, quantity_of
from costing.importing.core.alike import LONGEST
from costing.importing.core.columns import PURPOSES, Table
from costing.importing.core.days import Days, read_days
from costing.importing.core.hours import read_minutes
from costing.importing.core.sheet import cell
from costing.importing.core.sums import Sum, read_sums

_YES = {"yes", "y", "true", "1", "full", "x", "✓", "brimmed", "brim"}
_NO = {"no", "n", "false", "0", "part", "partial", "not full"}
#: The decimals of each number of a column.
_PLACES = {
    "amount": 2,
    "out": 2,
    "into": 2,
    "quantity": 3,
    "unit_price": 3,
    "odometer": 0,
    "count": 0,
    "private_miles": 0,
}
_DAYS = ("day", "to_day", "covers_from", "covers_to")


class Settings(NamedTuple):
    """What one says of a whole file: its columns by purpose, and how its sums are to be taken.

    ``out_is_below``: in a bank's one column of sums, what went out is below nought. ``in_pence``: its sums are pence.
    """

    kind: str
    columns: Mapping[str, int]
    in_pence: bool = False
    out_is_below: bool = False


class Fault(NamedTuple):
    """Why a cell cannot be taken, as words after the name of its column."""

    purpose: str
    why: str


@dataclass
class Row:
    """One row: ``values`` by purpose; ``is_in`` if a bank says that its money came in."""

    number: int
    values: dict[str, Any] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    is_in: bool = False


class Rows(NamedTuple):
    """All rows of a file. ``is_day_open``: each day could have its month first as well; it was taken day first."""

    rows: list[Row]
    is_month_first: bool = False
    is_day_open: bool = False


def read_rows(table: Table, settings: Settings) -> Rows:
    """Return the rows of a table, without those in which no chosen column has anything."""
    columns = {name: column for name, column in settings.columns.items() if _is_of(settings.kind, name)}
    lines = [line for line in table.lines if any(cell(line, column) for column in columns.values())]
    rows = [Row(line.number) for line in lines]
    days: Days | None = None
    for name, column in columns.items():
        cells = [cell(line, column) for line in lines]
        if name in _DAYS:
            found = _put_days(rows, name, cells)
            days = days or found
        else:
            _put_others(rows, name, cells, settings)
        _refuse_formulas(rows, name, cells)
    finish: Callable[[Row, Settings], None] = {"cost": _as_cost, "fill": _as_fill, "lessons": _as_lessons}[
        settings.kind
    ]
    for row in rows:
        if "day" not in row.values and not any(fault.purpose == "day" for fault in row.faults):
            row.faults.append(Fault("day", "is empty"))
        finish(row, settings)
    return Rows(rows, bool(days and days.is_month_first), bool(days and days.is_open))


def _is_of(kind: str, name: str) -> bool:
    return any(purpose.name == name for purpose in PURPOSES[kind])


def _refuse_formulas(rows: Sequence[Row], name: str, cells: Sequence[str]) -> None:
    """Put one fault on a cell that begins as a formula does, whatever else was made of it."""
    for row, text in zip(rows, cells, strict=True):
        if text.startswith("="):
            row.values.pop(name, None)
            row.faults = [fault for fault in row.faults if fault.purpose != name]
            row.faults.append(Fault(name, "is a formula that was never worked out: put what it comes to there"))


def _put_days(rows: Sequence[Row], name: str, cells: Sequence[str]) -> Days:
    found = read_days(cells)
    for row, day, text in zip(rows, found.days, cells, strict=True):
        if day:
            row.values[name] = day
        elif text:
            row.faults.append(Fault(name, f"“{text[:30]}” is no day"))
    if found.at_odds:
        first, other = found.at_odds
        told = f"“{cells[other]}” has its month first, but “{cells[first]}” in row {rows[first].number} its day"
        rows[other].faults.append(Fault(name, f"{told}: write all days of a column in one way"))
        rows[first].faults.append(
            Fault(name, f"“{cells[first]}” has its day first, but row {rows[other].number} has not")
        )
    return found


def _put_others(rows: Sequence[Row], name: str, cells: Sequence[str], settings: Settings) -> None:
    for row, one in zip(rows, _read(name, cells, settings), strict=True):
        if isinstance(one, _Refused):
            row.faults.append(Fault(name, one.why))
        elif one is not None:
            row.values[name] = one


class _Refused(NamedTuple):
    why: str


def _read(name: str, cells: Sequence[str], settings: Settings) -> list[Any]:
    if name in _PLACES:
        in_pence = settings.in_pence and name in ("amount", "out", "into")
        found: Sequence[Any] = read_sums(cells, places=_PLACES[name], in_pence=in_pence)
    elif name in ("hours", "minutes"):
        found = [read_minutes(text, in_minutes=name == "minutes") for text in cells]
    elif name == "brimmed":
        found = [None if not text else text.lower() in _YES if text.lower() in _YES | _NO else
                 f"“{text[:30]}” is neither yes nor no" for text in cells]  # fmt: skip
    else:
        return [text or None for text in cells]
    return [_Refused(one) if isinstance(one, str) else one for one in found]


def _as_cost(row: Row, settings: Settings) -> None:
    """Settle the sum: above nought if paid, below if it came back."""
    values = row.values
    sums = {name: one for name in ("amount", "out", "into") if isinstance(one := values.pop(name, None), Sum)}
    told = {name: one for name, one in sums.items() if one.value or name == "amount"}
    if any(fault.purpose in ("amount", "out", "into") for fault in row.faults):
        return
    if {"out", "into"} <= told.keys():
        row.faults.append(Fault("into", "has a sum as well as money out: one row is one payment"))
        return
    if not told:
        name = next((name for name in ("amount", "out", "into") if name in settings.columns), "amount")
        row.faults.append(Fault(name, "has no sum" if not sums else "is nothing: it need not be logged"))
        return
    name, one = next(iter(told.items()))
    paid = one.value
    if name == "into":
        paid, row.is_in = -abs(paid), True
    elif name == "out":
        paid = abs(paid)
    elif one.mark:
        row.is_in = one.mark == "in"
        paid = -abs(paid) if row.is_in else abs(paid)
    elif settings.out_is_below:
        paid, row.is_in = -paid, paid > 0
    if not paid:
        row.faults.append(Fault(name, "is nothing: it need not be logged"))
    values["amount"] = paid


def _as_fill(row: Row, _: Settings) -> None:
    """Settle the sum and the quantity, one of which may follow from the other and the price of a unit."""
    values = {name: one.value for name, one in row.values.items() if isinstance(one, Sum)}
    price, faulty = values.pop("unit_price", None), {fault.purpose for fault in row.faults}
    row.values.pop("unit_price", None)
    if price and "quantity" not in values and "amount" in values:
        values["quantity"] = quantity_of(values["amount"], price)
    if price and "amount" not in values and "quantity" in values:
        values["amount"] = amount_of(values["quantity"], price)
    row.values |= values
    for name in ("odometer", "quantity", "amount"):
        if name not in values and name not in faulty:
            row.faults.append(Fault(name, "is empty"))
    if "odometer" in values:
        row.values["odometer"] = int(values["odometer"])


def _as_lessons(row: Row, _: Settings) -> None:
    """Settle the days, and what follows if there were no lessons."""
    for name in ("count", "private_miles"):
        if isinstance(one := row.values.get(name), Sum):
            row.values[name] = int(one.value)
    minutes = [row.values.pop(name) for name in ("hours", "minutes") if name in row.values]
    if minutes:
        row.values["minutes"] = sum(minutes)
    first, last = row.values.get("day"), row.values.get("to_day")
    if first and not last:
        row.values["to_day"] = first
    elif first and last < first:
        row.faults.append(Fault("to_day", "is before the first day"))
    elif first and last - first > LONGEST:
        row.faults.append(Fault("to_day", "is more than a year after the first day"))
    count, minutes_taught = row.values.get("count"), row.values.get("minutes")
    if not {fault.purpose for fault in row.faults} & {"count", "hours", "minutes"}:
        _check_taught(row, count, minutes_taught)


def _check_taught(row: Row, count: int | None, minutes: int | None) -> None:
    if count is None and minutes is None:
        row.faults.append(Fault("count", "has neither lessons nor hours: write 0 if there were none"))
    elif (count and minutes == 0) or (minutes and count == 0):
        row.faults.append(Fault("count", "has lessons without hours, or hours without lessons"))
    elif 0 in (count, minutes):
        row.values["count"] = row.values["minutes"] = 0
    first, last = row.values.get("day"), row.values.get("to_day")
    if minutes and first and last and minutes > ((last - first).days + 1) * 24 * 60:
        row.faults.append(Fault("minutes", "is more than these days have hours"))
