"""The part of a month that is known of all a member's cars, by hand."""

from datetime import date
from decimal import Decimal

from costing.core.known import so_far
from costing.core.missing import Reason
from costing.core.records import Keeping, Period, Service
from costing.core.running_cost import running_cost
from tests.core.costing.april import ANN, APRIL, BEN, BOOK, FIRST, FUELLED, LAST, LOGGED, april, fill


def test_so_far_runs_to_the_earliest_day_of_a_members_cars() -> None:
    other = BOOK._replace(fills=FUELLED, logged=LOGGED)
    sold = BOOK._replace(service=Service(date(2027, 1, 1), date(2027, 3, 31)), fills=())

    assert so_far([other], APRIL) == (APRIL, LAST)
    assert so_far([other, BOOK, sold], APRIL) == (Period(FIRST, april(20)), april(20))
    # No day of May is known, or no day at all.
    may = Period(date(2027, 5, 1), date(2027, 5, 31))
    assert so_far([other, BOOK], may) == (None, april(20))
    assert so_far([BOOK._replace(fills=())], APRIL) == so_far([sold], APRIL) == so_far([], APRIL) == (None, None)


def test_a_loan_makes_nothing_unknown() -> None:
    own = BOOK._replace(fills=FUELLED, logged=LOGGED, whose=ANN)
    lent = BOOK._replace(
        keepings=(
            Keeping(BEN, date(2027, 1, 1), FIRST),
            Keeping(ANN, april(2), april(9)),
            Keeping(BEN, april(10), None),
        ),
        whose=ANN,
        fills=(),
    )

    borrowed = running_cost(lent, APRIL, depreciation_rate=Decimal(0))

    assert so_far([own, lent], APRIL) == (APRIL, LAST)
    assert not {Reason.NO_FILLS, Reason.NO_AGREEMENT} & {found.reason for found in borrowed.missing}
    # Beside a time of her own that was no loan, its days ask for nothing.
    both = own._replace(keepings=(Keeping(ANN, date(2027, 1, 1), april(10)), Keeping(ANN, april(20), april(24))))
    refuelled = both._replace(fills=(FUELLED[0], fill(april(9), 12_900)))
    assert running_cost(refuelled, APRIL, depreciation_rate=Decimal(0)).missing == ()
