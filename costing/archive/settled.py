"""The file of the payments of what repeats that are settled by costs logged by hand."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal

from django.db.models import F, OuterRef, Q, Subquery

from config import quantities
from costing import models as costing
from costing.archive.cells import DAY, of, text
from costing.archive.reading import FileRow, Sheet
from costing.archive.recorded import Values, recorded
from costing.archive.repeats import REPEATS, repeat_of
from costing.archive.rules import Complaints
from costing.archive.table import Column, Table
from costing.core.periods import ONE_DAY
from costing.core.repeats import dues_between, made_ref
from costing.queries.repeats import repeating_of

#: The references by which a row names its cost and its repeat; ``references`` recognises them by these kinds.
SETTLED_COST_REF, SETTLED_REPEAT_REF = text(64), text(64)
#: What a cost and its repeat have in common.
_SHARED = ("registration", "member_email", "category")

SETTLED = Table(
    "settled.csv",
    costing.SettledDue,
    key=("cost_ref",),
    owners=("member",),
    dropped_at="ended_at",
    is_later=True,
    columns=(
        Column("cost_ref", SETTLED_COST_REF, "cost__ref", required=True),
        Column("repeat_ref", SETTLED_REPEAT_REF, "repeat__ref", required=True),
        Column("due_on", DAY, required=True),
        Column("amount", of(quantities.POUNDS.within(least=Decimal("0.01"))), required=True),
    ),
)


def check_settled(sheets: Mapping[str, Sheet], new: Mapping[str, Sequence[FileRow]], costs_of: Table) -> None:
    """Add a fault for each new row whose cost cannot stand for that payment, or for one that is settled or made.

    What names a row that is not there, or that has a fault of its own, is left out.
    """
    rows = new.get(SETTLED.file)
    if not rows:
        return
    sheet = sheets[SETTLED.file]
    costs, repeats = _by_ref(costs_of, sheets), _by_ref(REPEATS, sheets)
    voided = {values["ref"] for values in recorded(costs_of, "dropped")}
    standing = costs.keys() - voided
    settled = {_payment(values): "the book" for values in recorded(SETTLED, "standing")}
    for row in rows:
        if row.unread:
            continue
        first = settled.setdefault(_payment(row.values), f"line {row.line}")
        if first != f"line {row.line}":
            sheet.add_fault(row.line, "due_on", f"{row.values['due_on']} is settled in {first} already")
        if row.values["cost_ref"] in voided:
            sheet.add_fault(row.line, "cost_ref", f"{row.values['cost_ref']} was voided in the book")
        elif (cost := costs.get(row.values["cost_ref"])) and (repeat := repeats.get(row.values["repeat_ref"])):
            for column, words in _complaints(row.values, cost, repeat, standing):
                sheet.add_fault(row.line, column, words)


def _by_ref(table: Table, sheets: Mapping[str, Sheet]) -> dict[str, Values]:
    """Return the rows of a file, and of the book, that have no fault, by their references."""
    found = {values["ref"]: values for values in recorded(table)}
    for row in sheets[table.file].rows if table.file in sheets else ():
        if row.unread:
            found.pop(row.values.get("ref"), None)
        else:
            found[row.values["ref"]] = row.values
    return found


def _payment(values: Values) -> tuple[str, date]:
    return values["repeat_ref"], values["due_on"]


def _complaints(row: Values, cost: Values, repeat: Values, standing: set[str]) -> Complaints:
    on, what = row["due_on"], row["repeat_ref"]
    yield from _unlike(row, cost, repeat)
    if not dues_between(repeating_of(repeat_of(repeat)), on - ONE_DAY, on):
        yield "due_on", f"{on} is no day on which {what} falls due"
    elif repeat["made_until"] is None or on > repeat["made_until"]:
        yield "due_on", f"{on} is after made_until of {what}"
    elif made_ref(what, on) in standing:
        yield "due_on", f"{on}: the entry that {what} made of it stands too"


def _unlike(row: Values, cost: Values, repeat: Values) -> Iterator[tuple[str, str]]:
    other = next((name for name in _SHARED if cost[name] != repeat[name]), None)
    if other:
        yield "cost_ref", f"{row['cost_ref']} has another {other} than {row['repeat_ref']}"
    elif cost["amount"] <= 0:
        yield "cost_ref", f"{row['cost_ref']} is a refund"
    elif row["cost_ref"] == made_ref(row["repeat_ref"], cost["paid_on"]):
        yield "cost_ref", f"{row['cost_ref']} is what {row['repeat_ref']} made, and stands for its own day"


def link_settled() -> None:
    """Name in each cost the repeat of which it settles a payment, and let that go on from there."""
    standing = costing.SettledDue.objects.filter(ended_at=None)
    of_cost = Subquery(standing.filter(cost=OuterRef("pk")).values("repeat")[:1])
    costing.CostEntry.objects.filter(repeat=None, settles__ended_at=None, settles__isnull=False).update(repeat=of_cost)
    last = Subquery(standing.filter(repeat=OuterRef("pk")).order_by("-due_on").values("due_on")[:1])
    behind = costing.Repeat.objects.alias(last=last).filter(Q(made_until=None) | Q(made_until__lt=F("last")))
    behind.filter(last__isnull=False).update(made_until=last)
