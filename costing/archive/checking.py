"""Compares the rows of an archive with each other and with the book: which are new, known or wrong."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from costing.archive.completions import check_completions
from costing.archive.defects import check_defects
from costing.archive.faults import WHOLE_LINE, ArchiveFault
from costing.archive.found_right import check_found_right
from costing.archive.keepers import check_keepers
from costing.archive.odometer import check_odometers
from costing.archive.pictures import Taken, take_pictures
from costing.archive.reading import FileRow, Sheet
from costing.archive.receipts import RECEIPTS
from costing.archive.recorded import Values, key_of, recorded
from costing.archive.references import check_references
from costing.archive.settled import check_settled
from costing.archive.sources import Pictures
from costing.archive.table import Column, Table
from costing.archive.tables import CLOSINGS, COSTS, FILLS, TABLES, TEACHING
from costing.archive.takings import check_takings
from costing.models import Span

Key = tuple[Any, ...]

_OTHER_SPAN = {Span.MONTH: Span.YEAR, Span.YEAR: Span.MONTH}


@dataclass
class Findings:
    """By file name, the rows to write (``new``) and how many the book has already; and every fault."""

    new: dict[str, list[FileRow]] = field(default_factory=dict)
    known_count: dict[str, int] = field(default_factory=dict)
    faults: list[ArchiveFault] = field(default_factory=list)


def check(sheets: Mapping[str, Sheet], pictures: Pictures, taken: Taken) -> Findings:
    """Compare the sheets of an archive with the book; the faults come in the order of files and lines.

    The ``pictures`` of new receipts are ``taken`` among the book's files.
    """
    findings = Findings()
    for sheet in sheets.values():
        _check_rules(sheet)
        singles = _without_repeats(sheet)
        _compare_with_book(sheet, singles, findings)
    check_references(sheets)
    check_keepers(sheets, findings.new)
    check_odometers(sheets, findings.new)
    check_defects(sheets, findings.new)
    check_completions(sheets, findings.new)
    check_found_right(sheets, (COSTS, FILLS, TEACHING))
    check_takings(sheets, findings.new)
    check_settled(sheets, findings.new, COSTS)
    _check_closings(sheets, findings.new)
    receipts = sheets.get(RECEIPTS.file, Sheet(RECEIPTS))
    unnamed = take_pictures(receipts, findings.new.get(RECEIPTS.file, ()), pictures, taken)
    for table in TABLES:
        if table.file in sheets:
            places = {name: place for place, name in enumerate(table.names)}
            faults = sheets[table.file].faults
            findings.faults += sorted(faults, key=lambda fault: (fault.line, places.get(fault.column, -1)))
    findings.faults += unnamed
    return findings


def _check_rules(sheet: Sheet) -> None:
    for row in sheet.rows:
        for rule in sheet.table.rules:
            if row.unread.isdisjoint(rule.columns):
                for column, words in rule.check(row.values):
                    sheet.add_fault(row.line, column, words)


def _without_repeats(sheet: Sheet) -> dict[Key, FileRow]:
    """Return the rows with a readable key, one for each key; a second row with the same key is a fault."""
    singles: dict[Key, FileRow] = {}
    for row in sheet.rows:
        if not row.unread.isdisjoint(sheet.table.key):
            continue
        first = singles.setdefault(key_of(sheet.table, row.values), row)
        if first is row:
            continue
        if sheet.table.key:
            what = " and ".join(name for name in sheet.table.key if row.values[name] is not None)
            sheet.add_fault(row.line, sheet.table.key[-1], f"repeats line {first.line}: the same {what}")
        else:
            sheet.add_fault(row.line, WHOLE_LINE, f"is one too many: the one row is on line {first.line}")
    return singles


def _compare_with_book(sheet: Sheet, singles: Mapping[Key, FileRow], findings: Findings) -> None:
    table = sheet.table
    new = findings.new[table.file] = []
    findings.known_count[table.file] = 0
    if not singles:
        return
    holding_their_key = recorded(table, "standing" if table.reborn_unless_same else "all")
    taken = {key_of(table, values): values for values in holding_their_key}
    past = _met_before(table)
    for key, row in singles.items():
        here = taken.get(key)
        if here is None:
            is_new = tuple(row.values.get(name) for name in table.reborn_unless_same) not in past
        else:
            differing = _differing(table, row, here)
            is_new = table.is_settings and bool(differing)
            if differing and not is_new:
                _tell_differences(sheet, row, differing, here)
                continue
        if is_new:
            new.append(row)
        else:
            findings.known_count[table.file] += 1


def _met_before(table: Table) -> set[Key]:
    """Return what identifies rows that were completed and must not come back, if the file has such rows."""
    if not table.reborn_unless_same:
        return set()
    return {tuple(values[name] for name in table.reborn_unless_same) for values in recorded(table, "dropped")}


def _differing(table: Table, row: FileRow, here: Values) -> list[Column]:
    """Return the columns in which row and book differ; an empty setting, doer, cost or other member does not."""
    return [
        column
        for column in table.columns
        if column.name not in row.unread
        and row.values[column.name] != here[column.name]
        and column.source not in table.computed
        and not column.moves_on
        and not (_leaves_the_book_as_it_is(table, column) and row.values[column.name] is None)
    ]


def _leaves_the_book_as_it_is(table: Table, column: Column) -> bool:
    return table.is_settings or column.is_doer or column.names_cost or column.names_another


def _tell_differences(sheet: Sheet, row: FileRow, differing: Iterable[Column], here: Values) -> None:
    for column in differing:
        given, known = (_shown(column, values[column.name]) for values in (row.values, here))
        sheet.add_fault(row.line, column.name, f"is {given} here, but {known} in the book, which has this row already")


def _shown(column: Column, value: Any) -> str:
    if value is None:
        return "empty"
    return " ".join(column.kind.show(value).split())


def _check_closings(sheets: Mapping[str, Sheet], new: Mapping[str, list[FileRow]]) -> None:
    """Add a fault for a new month without its year, or a year without its month: both are closed together."""
    sheet = sheets.get(CLOSINGS.file)
    if sheet is None or not sheet.is_whole:
        return
    if any({"month", "span"} & row.unread for row in sheet.rows):
        return  # the missing row may be the one that could not be read
    there = {(row.values["month"], row.values["span"]) for row in sheet.rows}
    for row in new.get(CLOSINGS.file, ()):
        month, span = row.values["month"], row.values["span"]
        if (month, _OTHER_SPAN[span]) not in there:
            other = _OTHER_SPAN[span].value
            sheet.add_fault(row.line, "span", f"is {span} alone: {month:%Y-%m} has no row of its {other}")
