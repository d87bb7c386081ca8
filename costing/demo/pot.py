"""The weekly pot of a made-up member: what is in it, a fortnight at Christmas, the tax bill and two quotes."""

from datetime import date

from config.history import save_as
from costing.core.catalogue.bills import TAX_BILL
from costing.models import PotBill, PotPlan
from fleet.core.due_kinds import MOT
from instructors.models import Member


def make_pot(member: Member, today: date) -> None:
    """Enter a pot and the bills that only the member knows of."""
    christmas = [date(today.year, 12, 19), date(today.year + 1, 1, 3)]
    plan = PotPlan(
        member=member,
        balance="1180.00",
        balance_on=today,
        weekly="48.00",
        holidays=[[day.isoformat() for day in christmas]],
        ill_weeks=6,
    )
    save_as(member, plan, reason="Entered")
    january = date(today.year + (today >= date(today.year, 1, 31)), 1, 31)
    bills = (
        PotBill(kind=TAX_BILL.name, amount="612.40", due_on=january),
        PotBill(kind=MOT.name, amount="54.85"),
        PotBill(kind="dual_controls", amount="48.00"),
    )
    for bill in bills:
        bill.member, bill.ref = member, f"demo-pot-{bill.kind}"
        save_as(member, bill, reason="Entered")
