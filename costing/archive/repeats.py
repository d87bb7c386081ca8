"""The file of what repeats, and what links its rows to the entries they made and to their agreements."""

from decimal import Decimal

from django.db.models import Q

from config import quantities
from costing import models as costing
from costing.archive.cells import DAY, FLAG, choice, of, text
from costing.archive.rules import Complaints, RowRule, Values, in_order
from costing.archive.table import Column, Table, email_of_member, mark_of_car
from costing.core.catalogue.costs import ENTRY_CATEGORIES
from costing.core.repeats import dues_between, made_ref
from costing.queries.repeats import repeating_of

#: The columns that say on which days it falls due.
_TERMS = ("ref", "interval", "amount", "starts_on", "in_arrears", "payments", "fees", "final_payment")
_SOME_POUNDS = of(quantities.POUNDS.within(least=Decimal("0.01")))


def _changes_on_a_day(row: Values) -> Complaints:
    for given, missing in (("next_amount", "next_amount_from"), ("next_amount_from", "next_amount")):
        if row[given] and not row[missing]:
            yield missing, f"is empty though {given} is given: a new sum counts from some day on"


def _final_needs_a_last(row: Values) -> Complaints:
    if row["final_payment"] and not row["payments"]:
        yield "payments", "is empty though final_payment is given, which falls due with the last payment"


REPEATS = Table(
    "repeats.csv",
    costing.Repeat,
    key=("ref",),
    owners=("member",),
    rules=(
        RowRule(("next_amount", "next_amount_from"), _changes_on_a_day),
        RowRule(("payments", "final_payment"), _final_needs_a_last),
        in_order("starts_on", "made_until"),
    ),
    is_later=True,
    columns=(
        Column("ref", text(64), required=True),
        mark_of_car(),
        email_of_member(),
        Column("category", choice([category.name for category in ENTRY_CATEGORIES]), required=True),
        Column("amount", _SOME_POUNDS, required=True, moves_on=True),
        Column("interval", choice(costing.Interval.values), required=True),
        Column("starts_on", DAY, required=True),
        Column("in_arrears", FLAG, default=False),
        Column("payments", of(quantities.PAYMENTS)),
        Column("fees", _SOME_POUNDS),
        Column("final_payment", _SOME_POUNDS),
        Column("next_amount", _SOME_POUNDS, moves_on=True),
        Column("next_amount_from", DAY, moves_on=True),
        Column("covers_its_days", FLAG, default=False),
        Column("supplier", text(120)),
        Column("note", text(500)),
        Column("stopped_on", DAY),
        Column("made_until", DAY, moves_on=True),
    ),
)


def repeat_of(values: Values) -> costing.Repeat:
    """Return what repeats as a row of the file has it; nothing of it is saved."""
    return costing.Repeat(**{name: values[name] for name in _TERMS})


def link_repeats() -> None:
    """Name in each entry what made it, which its reference tells, and in what repeats its agreement.

    An agreement's own repeats in arrears from its first day on.
    """
    for repeat in costing.Repeat.objects.filter(Q(made_until__isnull=False) | Q(in_arrears=True, agreement=None)):
        if repeat.made_until:
            refs = [made_ref(repeat.ref, due.on) for due in dues_between(repeating_of(repeat), None, repeat.made_until)]
            costing.CostEntry.objects.filter(ref__in=refs, repeat=None, member=repeat.member_id).update(repeat=repeat)
        if repeat.in_arrears and repeat.agreement_id is None:
            own = {"car": repeat.car_id, "member": repeat.member_id, "starts_on": repeat.starts_on}
            agreement = costing.Agreement.objects.filter(**own).first()
            costing.Repeat.objects.filter(pk=repeat.pk).update(agreement=agreement)
