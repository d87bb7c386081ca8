"""Erasing all that a member logged, and every plan that they made. What the group has closed holds no single value."""

from collections.abc import Sequence

from django.db import transaction
from django.utils import timezone

from config.whole_files import delete_after_commit
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
    SettledDue,
    Takings,
    TeachingRecord,
    ToldOfContributor,
    Valuation,
)
from fleet.actions import keep_miles
from instructors.models import Member

#: Every model whose rows are a member's, those first that refer to others. The offers go with their comparison.
MEMBERS_OWN = (
    *(Receipt, Paper, SettledDue, CostEntry, Fill, TeachingRecord, Repeat, Agreement, Valuation, Batch, Payee),
    *(Comparison, Dismissal, Takings, ChargePlan, PotPlan, PotBill, ToldOfContributor),
)


@transaction.atomic
def erase_money(member: Member, words: Sequence[str]) -> int:
    """Delete all of the member's own rows here with their histories, and their files once that is certain.

    Return how many went.

    None of it is anybody else's, so there are no ``words`` to take out. The miles that their fills showed stay as
    readings: by them it is known when a car is due.
    """
    fills = Fill.objects.filter(member=member, voided_at__isnull=True)
    keep_miles(by=member, readings=fills.values_list("car_id", "filled_on", "odometer"))
    for receipt in Receipt.objects.filter(member=member):
        delete_after_commit(receipt.picture, receipt.thumbnail)
    # A coordinator's list of cars names their keepers: whoever had one made by then asks for it anew.
    lists = Paper.objects.filter(of_coordinator=True, asked_at__lte=member.erased_at or timezone.now())
    for paper in Paper.objects.filter(member=member) | lists:
        delete_after_commit(paper.file)
    count, _ = lists.delete()
    for model in MEMBERS_OWN:
        count += model._base_manager.filter(member=member).delete()[0]
        if hasattr(model, "history"):
            model.history.filter(member_id=member.pk).delete()
    return count
