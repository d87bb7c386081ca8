"""The file of what members found right although the book asked: one row for each entry and reason."""

from collections import defaultdict
from collections.abc import Iterable, Mapping

from simple_history.utils import bulk_update_with_history

from costing import models as costing
from costing.archive.cells import choice, text
from costing.archive.reading import FileRow, Sheet
from costing.archive.recorded import recorded
from costing.archive.table import Column, Table
from costing.wording.doubts import DOUBT_WORDS

_REASONS = {reason for words in DOUBT_WORDS.values() for reason in words if reason[0] not in "=+"}
#: Characters of the field that holds them, a space between two.
_LONGEST = costing.CostEntry._meta.get_field("found_right").max_length or 0

FOUND_RIGHT = Table(
    "found_right.csv",
    costing.CostEntry,
    key=("ref", "reason"),
    owners=("member",),
    dropped_at="voided_at",
    also=(costing.Fill, costing.TeachingRecord),
    several="found_right",
    is_later=True,
    columns=(
        Column("ref", text(64), required=True),
        Column("reason", choice(sorted(_REASONS)), "found_right", required=True),
    ),
)


def check_found_right(sheets: Mapping[str, Sheet], entries: Iterable[Table]) -> None:
    """Add a fault for each row of no entry, and where an entry has more reasons than the book keeps."""
    sheet = sheets.get(FOUND_RIGHT.file)
    if sheet is None:
        return
    known: set[str] = set()
    for table in entries:
        of_table = sheets.get(table.file)
        if of_table is not None and not of_table.is_whole:
            return  # the entry may be in the part that could not be read
        known |= {row.values["ref"] for row in of_table.rows if "ref" in row.values} if of_table is not None else set()
        known |= {values["ref"] for values in recorded(table)}
    length: defaultdict[str, int] = defaultdict(int)
    for row in sheet.rows:
        if not row.unread.isdisjoint(("ref", "reason")):
            continue
        ref, reason = row.values["ref"], row.values["reason"]
        length[ref] += len(reason) + 1
        if ref not in known:
            sheet.add_fault(row.line, "ref", f"{ref} is no entry of the archive or of the book")
        elif length[ref] > _LONGEST:
            sheet.add_fault(row.line, "reason", f"is one too many for the entry {ref}")


def reasons_by_ref(rows: Iterable[FileRow]) -> dict[str, set[str]]:
    """Return what was found right by the reference of its entry."""
    found: defaultdict[str, set[str]] = defaultdict(set)
    for row in rows:
        found[row.values["ref"]].add(row.values["reason"])
    return dict(found)


def add_to_the_book(reasons: Mapping[str, set[str]], why: str) -> None:
    """Note what was found right of entries that were in the book before; what was just written has it already."""
    for model in (costing.CostEntry, costing.Fill, costing.TeachingRecord):
        entries: Iterable[costing.Entry] = model.objects.filter(ref__in=reasons)
        changed: list[costing.Entry] = []
        for entry in entries:
            words = " ".join(sorted({*entry.found_right.split(), *reasons[entry.ref]}))
            if {*entry.found_right.split()} != {*words.split()}:
                entry.found_right = words
                changed.append(entry)
        bulk_update_with_history(changed, model, ["found_right"], default_change_reason=why)
