"""Finds the due item of each completion: the one that stands, or one that was done for good.

An item that was done for good is in no file, so the completion that ended it creates it again.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from typing import NamedTuple

from costing.archive.condition import COMPLETIONS
from costing.archive.reading import FileRow, Sheet
from costing.archive.recorded import Values, cover_ends, recorded
from costing.archive.tables import COSTS, DUES
from fleet.models import DueItem
from fleet.queries import every_car, open_items
from instructors.queries import everybody

#: A registration mark or an e-mail address, and a kind of due item.
Subject = tuple[str | None, str | None, str]


class _ItemHistory(NamedTuple):
    """The completions of one item, oldest first, and whether the last of them ended it."""

    completions: list[FileRow]
    is_ended: bool


def check_completions(sheets: Mapping[str, Sheet], new: Mapping[str, list[FileRow]]) -> None:
    """Add a fault for a completion whose item neither stands nor was done for good.

    Also add one for two completions of the same item on one day. If a line or the file of due items already has a
    fault, leave out any fault that may follow from it.
    """
    sheet, dues = sheets.get(COMPLETIONS.file), sheets.get(DUES.file)
    if sheet is None:
        return
    wrong = frozenset(sheet.faulty)
    standing = None if dues is not None and dues.faults else _standing(new)
    for subject, rows in _by_subject(new[COMPLETIONS.file]).items():
        if any(row.line in wrong for row in rows):
            continue
        for completions, is_ended in _by_item(rows):
            for earlier, later in pairwise(completions):
                if earlier.values["done_on"] == later.values["done_on"]:
                    words = f"line {earlier.line} is of the same item and day; only one can be"
                    sheet.add_fault(later.line, "number", words)
            if not is_ended and standing is not None and subject not in standing:
                words = f"no {subject[-1]} stands in {DUES.file} or the book; one done for good has true in for_good"
                sheet.add_fault(completions[-1].line, "kind", words)


def items_of(rows: Iterable[FileRow]) -> list[tuple[DueItem, list[FileRow]]]:
    """Return each item with its completions among ``rows``; an item that was done for good is not saved yet."""
    cars = {car.registration: car for car in every_car()}
    members = {member.email.lower(): member for member in everybody()}
    standing: dict[Subject, DueItem] = {}
    for item in open_items():
        mark = item.car.registration if item.car else None
        standing[mark, item.member.email.lower() if item.member else None, item.kind] = item
    items = []
    for subject, of_subject in _by_subject(rows).items():
        mark, email, kind = subject
        for completions, is_ended in _by_item(of_subject):
            last = completions[-1].values
            item = standing[subject] if not is_ended else DueItem(
                car=cars[mark] if mark else None,
                member=members[email] if email else None,
                kind=kind,
                due_on=last["was_due_on"],
                due_miles=last["was_due_miles"],
                closed_on=last["done_on"],
            )  # fmt: skip
            items.append((item, completions))
    return items


def _standing(new: Mapping[str, list[FileRow]]) -> set[Subject]:
    """Return what falls due by the book, by the archive's due items, or by the cover of its costs."""
    standing = {_subject(values) for values in recorded(DUES, "standing")}
    standing |= {_subject(row.values) for row in new.get(DUES.file, ())}
    covered = cover_ends(row.values for row in new.get(COSTS.file, ()) if not row.unread)
    return standing | {(mark, None, kind) for mark, kind in covered}


def _subject(values: Values) -> Subject:
    return values["registration"], values["member_email"], values["kind"]


def _by_subject(rows: Iterable[FileRow]) -> dict[Subject, list[FileRow]]:
    groups: defaultdict[Subject, list[FileRow]] = defaultdict(list)
    for row in sorted(rows, key=lambda row: (row.values["done_on"], row.values["number"])):
        groups[_subject(row.values)].append(row)
    return groups


def _by_item(rows: Iterable[FileRow]) -> Iterator[_ItemHistory]:
    """Divide the completions of one subject and kind, oldest first, among its items; each end closes one item."""
    open_rows: list[FileRow] = []
    for row in rows:
        if not row.values["for_good"]:
            open_rows.append(row)
        elif open_rows and open_rows[-1].values["done_on"] == row.values["done_on"]:
            yield _ItemHistory([row], is_ended=True)  # one item is completed once a day, so this was another item
        else:
            yield _ItemHistory([*open_rows, row], is_ended=True)
            open_rows = []
    if open_rows:
        yield _ItemHistory(open_rows, is_ended=False)
