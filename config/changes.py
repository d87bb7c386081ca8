"""The changes of a record as its page shows them, from its history, and the form that voids one."""

from collections.abc import Callable, Collection, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any, NamedTuple

from django import forms
from django.db.models import Model

from config.showing import day

#: What nobody is told of: keys, references and what the change itself says.
_UNTOLD = frozenset({"id", "ref", "created_at", "recorded_at", "voided_at", "cost_ref"})


class VoidForm(forms.Form):
    """Why a record should no longer count."""

    reason = forms.CharField(
        label="Why",
        max_length=100,
        help_text="For example: entered twice. The history keeps it.",
        label_suffix="",
    )


class FieldChange(NamedTuple):
    """One field before and after a change."""

    name: str
    was: str
    became: str


class Change(NamedTuple):
    """One change of a record: who made it, when, what they did, and the fields it changed."""

    who: str
    at: datetime
    what: str
    fields: list[FieldChange]


#: By field, how a value is written where its type does not say it.
_Shown = Mapping[str, Callable[[Any], str]]


def changes_of(
    row: Model,
    shown: _Shown | None = None,
    *,
    untold: Collection[str] = (),
    nothing: str = "nothing",
    names: Mapping[str, str] | None = None,
) -> list[Change]:
    """The changes of a record with a history, newest first.

    ``shown`` gives, by field, how a value is written where its type does not say it; ``untold`` fields are left out.
    ``nothing`` is what an empty field is called; ``names`` are those of fields that their own does not say plainly.
    """
    history = row.history  # type: ignore[attr-defined]  # of whatever model, if it keeps one
    records = list(history.select_related("history_user").order_by("-history_date", "-history_id"))
    fields = [field for field in row._meta.concrete_fields if field.name not in {*_UNTOLD, *untold}]
    changes = []
    for record, earlier in zip(records, [*records[1:], None], strict=True):
        who = record.history_user.name if record.history_user else "The book"
        changed = _changed(fields, record, earlier, shown or {}, nothing, names or {}) if earlier else []
        changes.append(Change(who, record.history_date, record.history_change_reason or "Saved", changed))
    return changes


def _changed(
    fields: Collection[Any], record: Any, earlier: Any, shown: _Shown, nothing: str, names: Mapping[str, str]
) -> list[FieldChange]:
    return [
        FieldChange(
            names.get(field.name, field.verbose_name.capitalize()),
            _written(field, getattr(earlier, field.attname), shown) or nothing,
            _written(field, getattr(record, field.attname), shown) or nothing,
        )
        for field in fields
        if getattr(record, field.attname) != getattr(earlier, field.attname)
    ]


def _written(field: Any, value: Any, shown: _Shown) -> str:
    """A field's value as the pages show it; empty for nothing."""
    if value is None or value == "":
        return ""
    if field.name in shown:
        return shown[field.name](value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field.choices:
        return dict(field.choices).get(value, str(value))
    if isinstance(value, date):
        return day(value)
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return f"{value:,}" if isinstance(value, int) else str(value)
