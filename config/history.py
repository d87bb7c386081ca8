"""How to change a row: lock it, then save it with who changed it and why; its history keeps the old values."""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any, TypeVar, cast

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import connection
from django.db.models import Model, QuerySet
from django.utils import timezone

from config.sql import listed

Row = TypeVar("Row", bound=Model)

#: The length of the history's column.
_REASON_LENGTH = 100


def lock(row: Row, *related: str, lets_refer: bool = False) -> Row:
    """The row read again and locked until this transaction ends, with its ``related`` rows.

    With ``lets_refer`` others may meanwhile add rows that refer to it. Two that have done so, and then both lock it,
    would else wait for each other.
    """
    # Not type(row), because request.user is a lazy object.
    rows = cast("QuerySet[Row]", row._meta.model._default_manager.select_for_update(of=("self",), no_key=lets_refer))
    return (rows.select_related(*related) if related else rows).get(pk=row.pk)


def lock_all(model: type[Model]) -> None:
    """Let nobody change any row of the model until this transaction ends."""
    list(model._default_manager.select_for_update().order_by("pk").values_list("pk"))


def put(row: Model, values: Mapping[str, Any]) -> dict[str, tuple[Any, Any]]:
    """Set those ``values`` that differ from the row, and return the old and the new value by field."""
    changes = {field: (getattr(row, field), value) for field, value in values.items() if getattr(row, field) != value}
    for field, (_, value) in changes.items():
        setattr(row, field, value)
    return changes


def save_as(by: AbstractBaseUser | None, row: Model, *fields: str, reason: str = "") -> None:
    """Save the row, or only ``fields`` of it, as changed by ``by`` (None for the book itself)."""
    _sign(by, row, reason)
    row.save(update_fields=fields or None)


def add_all_as(by: AbstractBaseUser, rows: Sequence[Model], reason: str) -> None:
    """Add new rows of one model, each with its history, as added by ``by``; a few statements however many they are."""
    _add(rows, reason, str(int(by.pk)))


def add_all(rows: Sequence[Model], reason: str, *, signed_by: str = "") -> None:
    """Add new rows of one model, each with its history as added by the member in its field ``signed_by``."""
    _add(rows, reason, connection.ops.quote_name(f"{signed_by}_id") if signed_by else "NULL")


def _add(rows: Sequence[Model], reason: str, signer: str) -> None:
    """Add new rows with their histories, signed by what SQL finds for ``signer``.

    The database writes the history out of the rows: of a hundred thousand rows, a second one of each would take longer
    to make than all else.
    """
    if not rows:
        return
    model = type(rows[0])
    model._default_manager.bulk_create(rows)
    history = _history_of(model)
    quoted = connection.ops.quote_name
    columns = ", ".join(quoted(field.column) for field in history.tracked_fields)
    sql = " ".join(
        [
            f"INSERT INTO {quoted(history._meta.db_table)} ({columns},",
            "history_date, history_change_reason, history_type, history_user_id)",
            f"SELECT {columns}, %s, %s, '+', {signer}",
            f"FROM {quoted(model._meta.db_table)} WHERE id IN ({listed(row.pk for row in rows)}) ORDER BY id",
        ]
    )
    with connection.cursor() as cursor:
        cursor.execute(sql, [connection.ops.adapt_datetimefield_value(timezone.now()), reason[:_REASON_LENGTH]])


@cache
def _history_of(model: type[Model]) -> Any:
    """The model of its history. simple_history makes a manager anew to say so, which takes as long as a statement."""
    return model.history.model  # type: ignore[attr-defined]


def delete_as(by: AbstractBaseUser, row: Model) -> None:
    """Delete the row as ``by``; its history keeps the old values."""
    _sign(by, row, "")
    row.delete()


def _sign(by: AbstractBaseUser | None, row: Model, reason: str) -> None:
    """Put who and why on the row, where the history reads them on save."""
    row._history_user = by  # type: ignore[attr-defined]
    row._change_reason = reason[:_REASON_LENGTH] or None  # type: ignore[attr-defined]
