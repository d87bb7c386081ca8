"""What a file of the archive is: its columns, its key, and where the book keeps its rows."""

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

    ``is_doer``: it says who did what the row tells. Empty, it is somebody who is not told: where the book must
    have a name, that of the member it all belongs to. ``names_cost``: it is the reference of a cost entry, which
    only whoever logged that is told. Empty, either is left as the book has it.
    """

    name: str
    kind: Kind
    path: str = ""
    required: bool = False
    default: Any = None
    is_doer: bool = False
    names_cost: bool = False

    @property
    def source(self) -> str:
        """The path; by default the field bears the column's name."""
        return self.path or self.name


@dataclass(frozen=True)
class Table:
    """One file. ``owners`` lead from its model to the member whose rows they are; none: they are everybody's.

    ``dropped_at`` is the field that is set once a row no longer counts. Such a row still holds its key,
    unless ``reborn_unless_same`` names columns: then a row of the file is new if it differs in one of them.
    ``is_settings``: the one row may be loaded again with other values. ``computed`` are columns that the book
    keeps in no field, by how a query tells them; one of them outside the key changes as the book goes on, and
    is not compared with it. ``is_later``: the file came after the first ten. ``is_of_group``: it is the co-op's, and no
    member's.
    """

    file: str
    model: type[Model]
    key: tuple[str, ...]
    columns: tuple[Column, ...]
    owners: tuple[str, ...] = ()
    rules: tuple[RowRule, ...] = ()
    dropped_at: str = ""
    reborn_unless_same: tuple[str, ...] = ()
    is_settings: bool = False
    computed: Mapping[str, BaseExpression] = field(default_factory=dict)
    is_later: bool = False
    is_of_group: bool = False

    @property
    def names(self) -> tuple[str, ...]:
        """The columns' names, in the order of the file."""
        return tuple(column.name for column in self.columns)


def mark_of_car(path: str = "car__registration", *, required: bool = True) -> Column:
    """The car that a row is of."""
    return Column("registration", MARK, path, required)


def email_of_member(path: str = "member__email", *, required: bool = True) -> Column:
    """The member that a row is of."""
    return Column("member_email", EMAIL, path, required)
