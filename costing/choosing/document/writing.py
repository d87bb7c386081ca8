"""Typed values written as a document's, for a file or for the store, and read from the store again."""

from collections.abc import Iterable, Mapping
from typing import Any

from costing.choosing.document.keys import Key, Table, Values
from costing.choosing.document.schema import LISTS, TABLES
from costing.choosing.document.shapes import freeze


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
    frozen: dict[str, Any] = freeze(given({**TABLES, **LISTS}[table], values))
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
            thawed[name] = shape.thaw(value) if shape else value
    return thawed
