"""What a member may type a bill or a quote for: whatever falls due, the tax bill, and anything in their own words."""

from typing import NamedTuple

from fleet.core.due_kinds import DUE_KINDS


class BillKind(NamedTuple):
    """One of them. ``category`` is that of the cost it becomes, "" if it is none of a car.

    A bill of what ``falls_due`` is a quote: it takes the place of the last price, and needs no day of its own. One
    ``named`` by the member has their own words as its title.
    """

    name: str
    words: str
    category: str = ""
    falls_due: bool = False
    of_car: bool = False
    is_named: bool = False


TAX_BILL = BillKind("tax_bill", "Tax bill")

#: By name, in the order in which the form offers them.
BILL_KINDS: dict[str, BillKind] = {
    kind.name: kind
    for kind in (
        TAX_BILL,
        *(
            BillKind(
                due.name,
                "Something else" if due.named_by_note else due.words,
                due.cost_category,
                falls_due=not due.named_by_note,
                of_car=due.belongs_to("car"),
                is_named=due.named_by_note,
            )
            for due in DUE_KINDS.values()
        ),
    )
}
BILL_CHOICES = [(kind.name, kind.words) for kind in BILL_KINDS.values()]
