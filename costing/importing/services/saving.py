"""All rows of a file that somebody takes, saved at once or not at all."""

from collections.abc import Mapping, Sequence
from uuid import UUID, uuid5

from django.core.exceptions import ValidationError
from django.db import transaction

from costing.actions import NotLogged, log_together
from costing.importing.services.book import remember
from costing.importing.services.looking import Looked, arguments_of
from costing.models import Batch, BatchKind, CostEntry, Entry, Fill, TeachingRecord
from instructors.models import Member

_MODELS: Mapping[str, type[Entry]] = {"cost": CostEntry, "fill": Fill, "lessons": TeachingRecord}
#: What the actions call a column of theirs, by the words of the page.
_FIELDS = {
    "odometer": "Odometer",
    "filled_on": "Day",
    "paid_on": "Day paid",
    "from_on": "Day",
    "car": "Car",
}


@transaction.atomic
def bring(
    *, by: Member, ref: UUID, kind: str, rows: Sequence[Looked], brimmed: bool, payees: Mapping[str, str]
) -> tuple[Batch, bool]:
    """Save rows, in order, as entries of one batch whose id is ``ref``. Returns the batch and whether it is new.

    ``payees`` are remembered with their categories. Raises ValidationError with row and column, and saves nothing, if
    the book refuses one of the rows.
    """
    batch, is_new = Batch.objects.get_or_create(pk=ref, defaults={"member": by, "kind": BatchKind.IMPORT})
    if not is_new:
        if batch.member_id != by.pk or batch.kind != BatchKind.IMPORT:
            raise ValidationError("This page is out of date: choose the file again.", code="ref_of_another")
        return batch, False
    entries = [_entry(one, kind, batch, brimmed=brimmed) for one in rows]
    try:
        log_together(by=by, entries=entries)
    except NotLogged as one:
        raise ValidationError(_with_row(rows[one.place], one.refusal), code="row") from one
    remember(by, dict(payees))
    return batch, True


def _entry(one: Looked, kind: str, batch: Batch, *, brimmed: bool) -> Entry:
    """Return a row as the entry it becomes; its reference is of the batch, so no page has sent it before."""
    return _MODELS[kind](
        ref=str(uuid5(batch.pk, str(one.row.number))),
        batch=batch,
        found_right=" ".join(dict.fromkeys(one.doubted)),
        **arguments_of(one, kind, brimmed=brimmed),
    )


def saved_before(by: Member, ref: str) -> Batch | None:
    """Return the import of ``by`` that a page with this reference has saved already; None if there is none."""
    try:
        return Batch.objects.filter(pk=UUID(ref), member=by, kind=BatchKind.IMPORT).first()
    except ValueError:
        return None


def _with_row(one: Looked, refusal: ValidationError) -> str:
    by_field = refusal.message_dict if hasattr(refusal, "error_dict") else {"": refusal.messages}
    told = [
        f"Row {one.row.number}{f', {_FIELDS[name]}' if name in _FIELDS else ''}: {' '.join(words)}"
        for name, words in by_field.items()
    ]
    return " ".join(told)
