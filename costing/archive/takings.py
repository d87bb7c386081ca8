"""The file of what was taken for lessons, by the week."""

from collections.abc import Mapping, Sequence
from datetime import timedelta

from config import quantities
from costing import models as costing
from costing.archive.cells import COUNT, DAY, HOURS, of, text
from costing.archive.reading import FileRow, Sheet
from costing.archive.recorded import recorded
from costing.archive.rules import Complaints, RowRule, Values
from costing.archive.table import Column, Table, email_of_member
from costing.core.week import DAYS, monday_of


def _is_a_week(row: Values) -> Complaints:
    first, last = row["from_on"], row["to_on"]
    if first and first != monday_of(first):
        yield "from_on", f"{first} is no Monday: takings are of a week from Monday to Sunday"
    elif first and last and last != first + timedelta(days=DAYS - 1):
        yield "to_on", f"{last} is not the Sunday of the week from {first}"


TAKINGS = Table(
    "takings.csv",
    costing.Takings,
    key=("ref",),
    owners=("member",),
    rules=(RowRule(("from_on", "to_on"), _is_a_week),),
    dropped_at="voided_at",
    is_later=True,
    columns=(
        Column("ref", text(64), required=True),
        email_of_member(),
        Column("from_on", DAY, required=True),
        Column("to_on", DAY, required=True),
        Column("amount", of(quantities.POUNDS), required=True),
        Column("cancelled_lessons", COUNT, "cancelled_count"),
        Column("cancelled_hours", HOURS, "cancelled_minutes"),
    ),
)


def check_takings(sheets: Mapping[str, Sheet], new: Mapping[str, Sequence[FileRow]]) -> None:
    """Add a fault for each new row of a week that its member has told already, in the file or in the book."""
    rows = new.get(TAKINGS.file)
    if not rows:
        return
    sheet = sheets[TAKINGS.file]
    told: dict[object, str] = {_week(values): "the book" for values in recorded(TAKINGS, "standing")}
    for row in rows:
        if not row.unread.isdisjoint(("member_email", "from_on")):
            continue
        first = told.setdefault(_week(row.values), f"line {row.line}")
        if first != f"line {row.line}":
            words = f"{row.values['from_on']} begins a week whose takings are in {first} already"
            sheet.add_fault(row.line, "from_on", words)


def _week(values: Values) -> tuple[object, object]:
    return values["member_email"], values["from_on"]
