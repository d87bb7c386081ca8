"""The file of receipts, and where their pictures lie beside it."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from costing import models as costing
from costing.archive.cells import NUMBER, CellFault, Kind, text
from costing.archive.faults import quoted
from costing.archive.rules import Complaints, RowRule
from costing.archive.table import Column, Table

#: The folder of an archive that holds the pictures of its receipts.
PICTURES_FOLDER = "receipts"
#: The references by which a receipt names its entry; ``references`` recognises them by these kinds.
RECEIPT_COST_REF, RECEIPT_FILL_REF = text(64), text(64)


def _parse_id(cell: str) -> UUID:
    try:
        value = UUID(cell)
    except ValueError:
        value = None
    if value is None or str(value) != cell:
        raise CellFault(f"{quoted(cell)} is no id like 7f2c54e6-90ab-4c3d-8e1f-2a3b4c5d6e7f")
    return value


def _parse_file(cell: str) -> UUID:
    if not cell.endswith(".jpg"):
        raise CellFault(f"{quoted(cell)} does not end in .jpg")
    return _parse_id(cell.removesuffix(".jpg"))


def _file_of(pk: UUID) -> str:
    return f"{pk}.jpg"


def picture_of(pk: UUID) -> str:
    """Return where the picture of a receipt lies in an archive."""
    return f"{PICTURES_FOLDER}/{_file_of(pk)}"


def _has_one_entry(row: Mapping[str, Any]) -> Complaints:
    if bool(row["cost_ref"]) == bool(row["fill_ref"]):
        how = "both are" if row["cost_ref"] else "neither is"
        yield "cost_ref", f"and fill_ref: {how} given, and a receipt is of one cost or one fill"


def _file_has_its_id(row: Mapping[str, Any]) -> Complaints:
    if row["file"] != row["id"]:
        yield "file", f"is not {_file_of(row['id'])}: each picture has the id of its row for a name"


RECEIPTS = Table(
    "receipts.csv",
    costing.Receipt,
    key=("id",),
    owners=("member",),
    rules=(RowRule(("cost_ref", "fill_ref"), _has_one_entry), RowRule(("id", "file"), _file_has_its_id)),
    dropped_with=("cost__voided_at", "fill__voided_at"),
    is_later=True,
    columns=(
        Column("id", Kind(_parse_id), required=True),
        Column("cost_ref", RECEIPT_COST_REF, "cost__ref"),
        Column("fill_ref", RECEIPT_FILL_REF, "fill__ref"),
        Column("position", NUMBER, required=True),
        Column("file", Kind(_parse_file, _file_of), "id", required=True),
    ),
)
