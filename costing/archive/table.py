"""What describes a file of the archive: its columns, its key, and the model that holds its rows."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Model
from django.db.models.expressions import BaseExpression

from costing.archive.cells import EMAIL, MARK, Kind
from costing.archive.rules import RowRule


@dataclass(frozen=True)
class Column:
    """One column; ``path`` is the model's field, or a related model's key, as a query names it.

    ``is_doer`` marks the person who did what the row records. If the cell is empty, the person is unknown; where the
    book must have one, it takes the member whom the row belongs to. ``names_cost`` marks the reference of a cost entry,
    which only its own member sees, and ``names_another`` a member of whom the owner of a row may not be told. An empty
    cell of any of these sorts leaves the book as it is. What ``moves_on`` the book itself changes as days go by; it is
    not compared.
    """

    name: str
    kind: Kind
    path: str = ""
    required: bool = False
    default: Any = None
    is_doer: bool = False
    names_cost: bool = False
    names_another: bool = False
    moves_on: bool = False

    @property
    def source(self) -> str:
        """The path; by default the field has the column's name."""
        return self.path or self.name


@dataclass(frozen=True)
class Table:
    """One file. ``owners`` are the paths from its model to the member who owns a row; without any, all members do.

    ``is_of_keepers`` means that rows are of a car and belong to whoever keeps or kept it; with ``kept_on``, to whoever
    kept it on the day in that column, if they are the member's by ``owners`` at all. Days before the first keeper's
    time are that keeper's with ``has_early_days``.
    ``dropped_at`` is the field that is set when a row no longer counts, and ``dropped_with`` are those of the rows with
    which it stands and falls. Such a row still takes up its key, unless ``reborn_unless_same`` names columns: then a
    row of the file is new if it differs in one of them. ``is_settings`` means that the single row may be loaded again
    with other values. ``computed`` gives the query expressions of columns
    without a field; if they are not in the key, they change over time and are not compared. ``is_later`` marks the
    files after the first ten, ``is_of_group`` the one that belongs to the co-op and to no member. ``also``
    are other models whose rows the file holds, and ``several`` the field whose words make a row each.
    """

    file: str
    model: type[Model]
    key: tuple[str, ...]
    columns: tuple[Column, ...]
    owners: tuple[str, ...] = ()
    is_of_keepers: bool = False
    kept_on: str = ""
    has_early_days: bool = False
    rules: tuple[RowRule, ...] = ()
    dropped_at: str = ""
    dropped_with: tuple[str, ...] = ()
    also: tuple[type[Model], ...] = ()
    several: str = ""
    reborn_unless_same: tuple[str, ...] = ()
    is_settings: bool = False
    computed: Mapping[str, BaseExpression] = field(default_factory=dict)
    is_later: bool = False
    is_of_group: bool = False

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the columns, in the order of the file."""
        return tuple(column.name for column in self.columns)


def mark_of_car(path: str = "car__registration", *, required: bool = True) -> Column:
    """Return the column that names the row's car."""
    return Column("registration", MARK, path, required)


def email_of_member(path: str = "member__email", *, required: bool = True) -> Column:
    """Return the column that names the row's member."""
    return Column("member_email", EMAIL, path, required)
