"""The typed tables of an offers document: read from raw tables, written as those or as stored JSON, and made a case.

Stored as JSON, a value is the document's own with its numbers and days as text, so that no digit is lost. Of a range
the plan takes the likely figure.
"""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any, cast

from config.quantities import Wrong
from costing.choosing.core.case import Case, Fuel, Offer, Running, Use, WhatIf
from costing.choosing.document.checks import DocumentFault, KeyPath, checked
from costing.choosing.document.figures import likely
from costing.choosing.document.keys import FUEL_KEY, FUEL_KEYS, PENCE_A_MILE_KEY, Key, Table, Values
from costing.choosing.document.ranges import range_apart, ranges_in_place
from costing.choosing.document.schema import LISTS, MOST, TABLES, Tables
from costing.choosing.document.shapes import Kept
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.running import INSURANCE


def read_tables(document: Mapping[str, Any]) -> Tables:
    """The typed tables of a document. Raises Unreadable with every fault."""
    faults: list[DocumentFault] = []
    return checked(typed_tables(document, faults), faults)


def typed_tables(document: Mapping[str, Any], faults: list[DocumentFault]) -> Tables:
    """The values of a document that can be read, each by itself. Adds what is wrong with the others to ``faults``."""
    tables: dict[str, Any] = {name: _table(document.get(name), (name,), keys, faults) for name, keys in TABLES.items()}
    tables |= {name: _list(document.get(name, []), name, keys, faults) for name, keys in LISTS.items()}
    faults += [DocumentFault((name,), _unknown([*TABLES, *LISTS])) for name in document if name not in tables]
    return cast(Tables, tables)


def _table(values: Any, place: KeyPath, keys: tuple[Key, ...], faults: list[DocumentFault]) -> dict[str, Any]:
    """The typed values of one table, by key. Adds what is wrong to ``faults``."""
    if values is None:
        return {}
    if not isinstance(values, Mapping):
        header = ".".join(part for part in place if isinstance(part, str))
        faults.append(DocumentFault(place, f"must be a table: write [{header}]"))
        return {}
    typed = dict[str, Any]()
    names = [key.name for key in keys]
    faults += [DocumentFault((*place, name), _unknown(names)) for name in values if name not in names]
    for key in keys:
        here = (*place, key.name)
        if key.name not in values:
            continue
        if isinstance(key.shape, Table):
            typed[key.name] = _table(values[key.name], here, key.shape.keys, faults)
        else:
            try:
                typed[key.name] = key.shape_with(typed).take(values[key.name])
            except Wrong as wrong:
                faults.append(DocumentFault(here, str(wrong)))
    return typed


def _list(rows: Any, name: str, keys: tuple[Key, ...], faults: list[DocumentFault]) -> list[dict[str, Any]]:
    if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
        faults.append(DocumentFault((name,), f"must be a list of tables: write [[{name}]] before each"))
        return []
    if len(rows) > MOST[name]:
        faults.append(DocumentFault((name,), f"there are {len(rows):,}: write [[{name}]] at most {MOST[name]} times"))
        return []
    return [_table(row, (name, index), keys, faults) for index, row in enumerate(rows)]


def _unknown(known: Sequence[str]) -> str:
    return f"is not known here; the keys are {', '.join(known)}"


def given(keys: Iterable[Key], values: Values) -> dict[str, Any]:
    """One table as a document has it, its keys in the order of the schema."""
    written: dict[str, Any] = {}
    for key in keys:
        if key.name in values:
            value = values[key.name]
            shape = key.shape_with(values)
            written[key.name] = given(shape.keys, value) if isinstance(shape, Table) else shape.give(value)
    return written


def to_json(table: str, values: Values) -> dict[str, Any]:
    """The typed values of one table as they are stored."""
    frozen: dict[str, Any] = _frozen(given({**TABLES, **LISTS}[table], values))
    return frozen


def from_json(table: str, stored: Any) -> Any:
    """One stored table as a document has it, still to be read: what is no number, day or table stays, to be refused."""
    return _thawed({**TABLES, **LISTS}[table], stored) if isinstance(stored, Mapping) else stored


def rows_from_json(table: str, stored: Any) -> Any:
    """A stored list of tables as a document has it, still to be read; what is no list stays, to be refused."""
    return [from_json(table, row) for row in stored] if isinstance(stored, list) else stored


def _thawed(keys: Iterable[Key], stored: Mapping[str, Any]) -> dict[str, Any]:
    shapes = {key.name: key.shape for key in keys}
    thawed: dict[str, Any] = {}
    for name, value in stored.items():
        shape = shapes.get(name)
        if isinstance(shape, Table) and isinstance(value, Mapping):
            thawed[name] = _thawed(shape.keys, value)
        else:
            thawed[name] = _thawed_one(shape.kept, value) if shape else value
    return thawed


def _frozen(value: Any) -> Any:
    """A document's value as JSON keeps it."""
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {name: _frozen(one) for name, one in value.items()}
    return [_frozen(one) for one in value] if isinstance(value, list) else value


def _thawed_one(kept: Kept, stored: Any) -> Any:
    """What the document has for a stored value. Text that is no number or day stays, to be refused."""
    if kept == "day" and isinstance(stored, str):
        with suppress(ValueError):
            return date.fromisoformat(stored)
    return _numbers_in(stored) if kept == "numbers" else stored


def _numbers_in(stored: Any) -> Any:
    if isinstance(stored, list):
        return [_numbers_in(one) for one in stored]
    if isinstance(stored, dict):  # a rule's kind is a word, and all else in a table is a number
        return {name: one if name == "kind" else _numbers_in(one) for name, one in stored.items()}
    if isinstance(stored, str):
        with suppress(InvalidOperation):
            return Decimal(stored)
    return stored


def case_made_of(tables: Tables, nation: str) -> Case:
    """The case of faultless tables, for a co-op in ``nation``."""
    apart = (range_apart(row, tables) for row in tables["uncertain"])
    return Case(
        Use(**_planned(tables["use"]), nation=nation),
        running_made_of(tables["running"]),
        tuple(offer_made_of(offer) for offer in tables["offer"]),
        tuple(_what_if(change) for change in tables["what_if"]),
        (*ranges_in_place(tables), *apart),
    )


def offer_made_of(values: Values) -> Offer:
    """The offer of faultless typed values. Whoever doesn't say how often it is paid pays as is usual for its kind."""
    usual = {"frequency": AGREEMENT_KINDS[values["kind"]].usual_frequency}
    return Offer(**{**usual, **_planned(values), "running": running_made_of(values.get("running", {}))})


def running_made_of(values: Values) -> Running:
    """The running costs of faultless typed values."""
    planned = _planned({key: value for key, value in values.items() if key not in (*FUEL_KEYS, INSURANCE.key)})
    if INSURANCE.key in values:
        planned[INSURANCE.key] = tuple(likely(year) for year in values[INSURANCE.key])
    if FUEL_KEY in values:
        planned["fuel"] = tuple(fuel._replace(price=likely(fuel.price)) for fuel in values[FUEL_KEY])
    elif PENCE_A_MILE_KEY in values:
        planned["fuel"] = (Fuel(likely(values[PENCE_A_MILE_KEY])),)
    return Running(**planned)


def _planned(values: Values) -> dict[str, Any]:
    return {key: likely(value) for key, value in values.items()}


def _what_if(change: Values) -> WhatIf:
    planned = _planned(change)
    return WhatIf(off=planned.pop("weeks_off", None), **planned)
