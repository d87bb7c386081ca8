"""Erasing all that a member logged, and every plan that they made. What the group has closed holds no single value."""

from collections.abc import Sequence
from functools import partial

from django.db import transaction

from costing.models import (
    Agreement,
    Batch,
    ChargePlan,
    Comparison,
    CostEntry,
    Dismissal,
    Fill,
    Paper,
    Payee,
    PotBill,
    PotPlan,
    Receipt,
    Repeat,
    Takings,
    TeachingRecord,
    ToldOfContributor,
    Valuation,
)
from fleet.actions import keep_miles
from instructors.models import Member

#: Every model whose rows are a member's, those first that refer to others. The offers go with their comparison.
MEMBERS_OWN = (
    *(Receipt, Paper, CostEntry, Fill, TeachingRecord, Repeat, Agreement, Valuation, Batch, Payee, Comparison),
    *(Dismissal, Takings, ChargePlan, PotPlan, PotBill, ToldOfContributor),
)


@transaction.atomic
def erase_money(member: Member, words: Sequence[str]) -> None:
    """Delete all of the member's own rows here with their histories, and their files once that is certain.

    None of it is anybody else's, so there are no ``words`` to take out. The miles that their fills showed stay as
    readings: by them it is known when a car is due.
    """
    fills = Fill.objects.filter(member=member, voided_at__isnull=True)
    keep_miles(by=member, readings=fills.values_list("car_id", "filled_on", "odometer"))
    for receipt in Receipt.objects.filter(member=member):
        _drop(receipt.picture.storage, receipt.picture.name, receipt.thumbnail.name)
    for paper in Paper.objects.filter(member=member).exclude(file=""):
        _drop(paper.file.storage, paper.file.name)
    for model in MEMBERS_OWN:
        model._base_manager.filter(member=member).delete()
        if hasattr(model, "history"):
            model.history.filter(member_id=member.pk).delete()


def _drop(storage: object, *names: str | None) -> None:
    for name in names:
        transaction.on_commit(partial(storage.delete, name))  # type: ignore[attr-defined]
