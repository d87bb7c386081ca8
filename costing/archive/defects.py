"""Checks that each defect stands as its last step says and that its steps are numbered in order."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from costing.archive.condition import CHECKS, DEFECT_STEPS, DEFECTS
from costing.archive.reading import FileRow, Sheet
from costing.archive.recorded import Values, recorded
from costing.archive.table import Table
from fleet.models import DefectState

_STANDING = ("found_on", "state", "severity", "closed_on")
_STEP = ("ref", "number", "happened_on", "state", "severity")


class _StoredRow(NamedTuple):
    """A row of a file or (``line`` 0) of the book."""

    values: Values
    table: Table
    line: int = 0

    @property
    def place(self) -> str:
        return f"{self.table.file}, line {self.line}" if self.line else "already in the book"


#: A row, its column, and what is wrong there.
_Complaint = tuple[_StoredRow, str, str]


def check_defects(sheets: Mapping[str, Sheet], new: Mapping[str, list[FileRow]]) -> None:
    """Add a fault where a defect's steps are out of order or do not lead to how it stands.

    A defect without steps stands as it was reported. Rows that could not be read are left out.
    """
    _check_checks(sheets, new.get(DEFECTS.file, ()))
    steps_sheet = sheets.get(DEFECT_STEPS.file)
    if steps_sheet is not None and not steps_sheet.is_whole:
        return
    unread = {row.values.get("ref") for sheet in (steps_sheet, sheets.get(DEFECTS.file)) for row in _spoilt(sheet)}
    defects, steps = _in_archive(new, DEFECTS), _in_archive(new, DEFECT_STEPS)
    concerned = {told.values["ref"] for told in (*defects, *steps)} - unread
    if not concerned:
        return
    histories: defaultdict[str, list[_StoredRow]] = defaultdict(list)
    for step in (*_in_book(DEFECT_STEPS, concerned), *steps):
        histories[step.values["ref"]].append(step)
    for defect in (*_in_book(DEFECTS, concerned), *defects):
        if (ref := defect.values["ref"]) in concerned:
            history = sorted(histories[ref], key=lambda step: step.values["number"])
            for told, column, words in (*_disorder(defect, history), *_disagreement(defect, history)):
                sheets[told.table.file].add_fault(told.line, column, words)


def _spoilt(sheet: Sheet | None) -> Iterator[FileRow]:
    bearing = {*_STANDING, *_STEP}
    yield from (row for row in (sheet.rows if sheet else ()) if row.unread & bearing)


def _in_archive(new: Mapping[str, list[FileRow]], table: Table) -> list[_StoredRow]:
    return [_StoredRow(row.values, table, row.line) for row in new.get(table.file, ())]


def _in_book(table: Table, refs: set[str]) -> Iterator[_StoredRow]:
    yield from (_StoredRow(values, table) for values in recorded(table) if values["ref"] in refs)


def _disorder(defect: _StoredRow, history: list[_StoredRow]) -> Iterator[_Complaint]:
    for number, step in enumerate(history, start=1):
        if step.values["number"] != number:
            yield _at(step, defect), "number", f"is {step.values['number']}, but there is no step {number}"
            break
    if history and history[0].values["happened_on"] < defect.values["found_on"]:
        words = f"{history[0].values['happened_on']} is before the defect was found, {defect.values['found_on']}"
        yield _at(history[0], defect), "happened_on", words
    seen: _StoredRow | None = None
    for step in history:
        if seen is not None and step.values["happened_on"] < seen.values["happened_on"]:
            words = f"{step.values['happened_on']} is before the step before it, {seen.values['happened_on']}"
            yield _at(step, seen), "happened_on", words
        # The day of one that waits is only what was said: it may be recorded anew with an earlier one.
        seen = seen if step.values["state"] == DefectState.WAITING and seen else step


def _disagreement(defect: _StoredRow, history: list[_StoredRow]) -> Iterator[_Complaint]:
    if not history:
        if defect.values["state"] != DefectState.OPEN:
            words = f"is {defect.values['state']}, but no step in {DEFECT_STEPS.file} tells how it came to that"
            yield defect, "state", words
        return
    last = history[-1]
    told = {"state": last.values["state"], "severity": last.values["severity"]}
    if last.values["state"] == DefectState.CLOSED:
        told["closed_on"] = last.values["happened_on"]
    for column, value in told.items():
        if (said := defect.values[column]) is not None and said != value:
            if defect.line:
                yield defect, column, f"is {said}, but its last step says {value} ({last.place})"
            else:
                words = f"is {value}, but the defect is {said} ({defect.place})"
                yield last, "happened_on" if column == "closed_on" else column, words


def _at(told: _StoredRow, other: _StoredRow) -> _StoredRow:
    """Return whichever of the two stands in a file."""
    return told if told.line else other


def _check_checks(sheets: Mapping[str, Sheet], defects: list[FileRow] | tuple[()]) -> None:
    """Add a fault if a defect and the check that found it are of different cars."""
    naming = [row for row in defects if row.values.get("check_ref")]
    if not naming:
        return
    looked_round = {values["ref"]: values["registration"] for values in recorded(CHECKS)}
    checks = sheets.get(CHECKS.file)
    looked_round |= {row.values.get("ref"): row.values.get("registration") for row in (checks.rows if checks else ())}
    for row in naming:
        mark, of_check = row.values.get("registration"), looked_round.get(row.values["check_ref"])
        if mark and of_check and mark != of_check:
            words = f"{row.values['check_ref']} is a check of {of_check}, but the defect is of {mark}"
            sheets[DEFECTS.file].add_fault(row.line, "check_ref", words)
