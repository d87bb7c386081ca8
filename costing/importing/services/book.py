"""What of the member's own book rows may look like, and what is remembered of payees."""

from collections.abc import Iterator
from datetime import date

from config.showing import day, pounds
from costing.importing.core.alike import A_FILL, WITHIN, Known
from costing.models import CostEntry, Fill, Payee, TeachingRecord
from instructors.models import Member


def known_in_book(member: Member, kind: str, first: date, last: date) -> Iterator[Known]:
    """Yield what the member logged near some days, as far as rows of a kind are compared with it; by two queries."""
    since, until = first - WITHIN, last + WITHIN
    if kind == "lessons":
        taught = TeachingRecord.objects.standing().filter(member=member, to_on__gte=since, from_on__lte=until)
        for record in taught.select_related("car"):
            words = f"lessons of {day(record.from_on)} in the book"
            yield Known(record.from_on, frozenset({record.car.registration}), words, until=record.to_on)
        return
    for fill in Fill.objects.standing().filter(member=member, filled_on__range=(since, until)).select_related("car"):
        about = frozenset({A_FILL if kind == "cost" else fill.car.registration})
        yield Known(fill.filled_on, about, f"the fill of {day(fill.filled_on)} in the book", fill.amount)
    if kind == "cost":
        for cost in CostEntry.objects.standing().filter(member=member, paid_on__range=(since, until)):
            about = frozenset(filter(None, [cost.category, cost.supplier.lower()]))
            what = cost.get_category_display()
            words = f"{what}, {pounds(cost.amount)}, on {day(cost.paid_on)} in the book"
            yield Known(cost.paid_on, about, words, cost.amount)


def remembered(member: Member) -> dict[str, str]:
    """Return the category of each payee of whom the member took a payment, by the name in lower case."""
    return dict(Payee.objects.filter(member=member).values_list("name", "category"))


def remember(member: Member, payees: dict[str, str]) -> None:
    """Keep the category of each payee, by the name in lower case, for the next statement."""
    for name, category in payees.items():
        Payee.objects.update_or_create(member=member, name=name, defaults={"category": category})
