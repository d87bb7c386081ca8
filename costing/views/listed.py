"""The list of entries in words: its rows, a week of lessons as one, and what months come to."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import NamedTuple
from uuid import UUID

from django.utils import timezone

from config.showing import day, hours_taught, pence_as_pounds
from costing.models import Batch, BatchKind, CostEntry, TeachingRecord
from costing.queries.listing import Listed, Totals
from costing.views.rows import EntryRow, lessons_of, row_of, within_month


class ListedRow(NamedTuple):
    """One row: an entry, or a week of lessons with its ``days``, newest first.

    ``notes`` say what else is known of the entry. ``batch`` is what it was imported with.
    """

    shown: EntryRow
    notes: str
    days: Sequence[EntryRow] = ()
    batch: UUID | None = None
    batch_words: str = ""


class MonthOfRows(NamedTuple):
    """The rows of one month on this page, and what all of that month comes to, on whichever page."""

    first: date
    total: str
    rows: list[ListedRow]


class Together(NamedTuple):
    """What was saved together, in words."""

    pk: UUID
    words: str
    undo: str
    is_undone: bool


def listed_row(row: Listed) -> ListedRow:
    """Return a row of the list in words."""
    entry = row.entries[0]
    if len(row.entries) > 1:
        return _week([each for each in row.entries if isinstance(each, TeachingRecord)])
    notes = []
    if isinstance(entry, CostEntry) and entry.repeat:
        notes.append(f"repeats {entry.repeat.get_interval_display().lower()}")
    if row.receipts:
        notes.append("receipt" if row.receipts == 1 else f"{row.receipts} pages of receipts")
    shown = row_of(entry)
    if entry.batch is None or entry.batch.kind != BatchKind.IMPORT:
        return ListedRow(shown, ", ".join(notes))
    return ListedRow(shown, ", ".join(notes), batch=entry.batch.pk, batch_words=f"imported {_saved_on(entry.batch)}")


def _week(records: Sequence[TeachingRecord]) -> ListedRow:
    days = [row_of(record) for record in records]
    first, last = min(record.from_on for record in records), max(record.to_on for record in records)
    counts = [record.lesson_count for record in records if record.lesson_count is not None]
    minutes = [record.minutes for record in records if record.minutes is not None]
    about = [hours_taught(sum(minutes))] if any(minutes) else []
    if private := sum(record.private_miles or 0 for record in records):
        about.append(f"{private:,} private miles")
    shown = days[0]._replace(
        when="",
        short_when=within_month(first, last),
        about=", ".join(about),
        figure=lessons_of(sum(counts) if counts else None),
    )
    return ListedRow(shown, "", days=days)


def months_of(rows: Sequence[ListedRow], totals: Mapping[date, Totals]) -> list[MonthOfRows]:
    """Return the rows under the months of their last days, with what each whole month comes to."""
    months = dict.fromkeys(row.shown.month for row in rows)
    return [
        MonthOfRows(
            month,
            total_in_words(totals.get(month, Totals())),
            [row for row in rows if row.shown.month == month],
        )
        for month in months
    ]


def total_in_words(total: Totals, *, together: bool = False) -> str:
    """Say what entries come to, as "£60.00 in fills, £86.40 in costs, 26 lessons, 32 hours"; empty of nothing.

    With ``together``, fills and costs are added up as well.
    """
    parts = []
    if total.fills is not None:
        parts.append(f"{pence_as_pounds(total.fills)} in fills")
    if total.costs is not None:
        parts.append(f"{pence_as_pounds(total.costs)} in costs")
    if together and total.fills is not None and total.costs is not None:
        parts.append(f"{pence_as_pounds(total.fills + total.costs)} together")
    if total.lessons or total.minutes:
        parts += [lessons_of(total.lessons), hours_taught(total.minutes)]
    if total.untold:
        parts.append("some lessons or hours not entered")
    return ", ".join(parts)


def batch_in_words(batch: Batch) -> Together:
    """Return what was saved together, and when, in words."""
    is_import = batch.kind == BatchKind.IMPORT
    what = "An import" if is_import else "A week of lessons"
    undo = "Undo the whole import" if is_import else "Undo the whole week"
    return Together(batch.pk, f"{what}, saved {_saved_on(batch)}", undo, batch.undone_at is not None)


def _saved_on(batch: Batch) -> str:
    return f"on {day(timezone.localdate(batch.created_at))}"
