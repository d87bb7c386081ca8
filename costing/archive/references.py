"""Checks that whatever a row names exists: members, cars, walkaround checks, defects, check points and entries."""

from collections.abc import Mapping
from typing import Any

from costing.archive.cells import EMAIL, MARK, NAME, NAMES, Kind
from costing.archive.condition import CHECK_REF, CHECKS, DEFECT_REF, DEFECTS, POINTS
from costing.archive.reading import Sheet
from costing.archive.receipts import RECEIPT_COST_REF, RECEIPT_FILL_REF
from costing.archive.recorded import recorded
from costing.archive.repeats import REPEATS
from costing.archive.settled import SETTLED_COST_REF, SETTLED_REPEAT_REF
from costing.archive.table import Table
from costing.archive.tables import CARS, COSTS, FILLS, MEMBERS
from fleet.core.points import POINTS as POINTS_OF_THE_LIST

#: Each file that others refer to, what its rows are called, and the kinds of cell that name them.
_TARGETS: tuple[tuple[Table, str, tuple[Kind, ...]], ...] = (
    (MEMBERS, "member", (EMAIL,)),
    (CARS, "car", (MARK,)),
    (POINTS, "point", (NAME, NAMES)),
    (CHECKS, "check", (CHECK_REF,)),
    (DEFECTS, "defect", (DEFECT_REF,)),
    (COSTS, "cost", (RECEIPT_COST_REF, SETTLED_COST_REF)),
    (REPEATS, "repeat", (SETTLED_REPEAT_REF,)),
    (FILLS, "fill", (RECEIPT_FILL_REF,)),
)


def check_references(sheets: Mapping[str, Sheet]) -> None:
    """Add a fault for each name that is neither in the archive nor in the book."""
    for target, what, kinds in _TARGETS:
        sheet = sheets.get(target.file)
        if sheet is not None and not sheet.is_whole:
            continue  # the missing name may be in the part that could not be read
        naming_it = [naming for naming in sheets.values() if naming is not sheet and _columns(naming, kinds)]
        known = _known(target, sheet) if naming_it else set()
        for naming in naming_it:
            for row in naming.rows:
                for column in _columns(naming, kinds):
                    for name in _names(row.values.get(column)):
                        if name not in known:
                            words = f"{name} is no {what} of {target.file} or of the book"
                            naming.add_fault(row.line, column, words)


def _columns(sheet: Sheet, kinds: tuple[Kind, ...]) -> list[str]:
    return [column.name for column in sheet.table.columns if column.kind in kinds]


def _known(target: Table, sheet: Sheet | None) -> set[Any]:
    (key,) = target.key
    known = {row.values.get(key) for row in sheet.rows} if sheet is not None else set()
    known |= {values[key] for values in recorded(target)}
    return known | POINTS_OF_THE_LIST.keys() if target is POINTS else known


def _names(value: Any) -> tuple[Any, ...]:
    if value is None:
        return ()
    return value if isinstance(value, tuple) else (value,)
