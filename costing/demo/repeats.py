"""What repeats in the made-up book, with the entries that it made up to today."""

from datetime import date
from decimal import Decimal

from costing.core.catalogue.costs import CLEANING
from costing.core.money import to_pence, to_pounds
from costing.core.periods import Every
from costing.core.repeats import Repeating, dues_between, made_ref
from costing.demo.cast import MEMBER, Instructor
from costing.demo.condition import Write
from fleet.core.days import add_months


def write_repeats(log: Write, who: Instructor, start: date, today: date) -> None:
    """Write an instructor's instalments, as their agreement has them, and what else they pay for every month.

    ``log`` knows car and member; ``start`` is the day on which the car came.
    """
    payment, category = who.agreement.get("payment"), who.way.instalments
    if payment and category is not None:
        every: Every = "week" if who.agreement["frequency"] == "week" else "month"
        count = int(str(who.agreement["payments"]))
        terms = Repeating(start, every, to_pence(Decimal(str(payment))), count, in_arrears=True)
        _write(log, who.registration, category.name, terms, today)
    if who.email == MEMBER:
        _write(
            log, who.registration, CLEANING.name, Repeating(add_months(start, 6), "month", 16_50), today, "wash club"
        )


def _write(log: Write, mark: str, category: str, terms: Repeating, today: date, note: str = "") -> None:
    ref = f"demo-repeats-{mark}-{category}"
    made = dues_between(terms, None, today)
    log(
        "repeats",
        ref=ref,
        category=category,
        amount=to_pounds(terms.amount),
        interval=terms.every,
        starts_on=terms.starts_on,
        in_arrears="true" if terms.in_arrears else "false",
        payments=terms.payments or "",
        note=note,
        made_until=made[-1].on if made else "",
    )
    for due in made:
        sum_due, known_as = to_pounds(due.amount), made_ref(ref, due.on)
        log("costs", ref=known_as, paid_on=due.on, category=category, amount=sum_due, note=note)
