"""The smallest weekly sum and the reserve of an illness against a linear programme, solved by another hand.

Source: HiGHS, through scipy.optimize.linprog (Huangfu and Hall, "Parallelizing the dual revised simplex method",
Mathematical Programming Computation 10, 2018). The programme says nothing of quotients or of the greatest of any: it
has what is in the pot on every single day as a variable, which may not be below nought.
"""

import math
from random import Random

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.sparse import lil_matrix

from costing.planning.core.bills import Bill
from costing.planning.core.pot import Weeks, balance_needed, illness, smallest_weekly
from tests.core.costing.planning.purses import DAYS, TODAY, bill

#: The solver works with floats of pounds; a sum that it gives so near below whole pence is those.
NEAR = 1e-4


def solved(bills: list[Bill], balance: int, off: frozenset[int], *, weekly: int | None = None) -> tuple[float, float]:
    """The least weekly sum and, before that, the least that has to be added today, in pence, by a linear programme.

    Unknowns: the weekly sum, what is added today, and what is in the pot after the bills of each day. With ``weekly``
    that sum is given.
    """
    paid = np.zeros(DAYS)
    for one in bills:
        paid[(one.on - TODAY).days] += one.pence
    equations, right = lil_matrix((DAYS, DAYS + 2)), np.zeros(DAYS)
    for day in range(DAYS):
        # pot today = pot yesterday + the sum, if the seventh day of a week is just over - the bills of today
        equations[day, 2 + day] = 1
        if day:
            equations[day, 2 + day - 1] = -1
        else:
            equations[day, 1] = -1
        if day and day % 7 == 0 and day // 7 not in off:
            equations[day, 0] = -1
        right[day] = (0 if day else balance) - paid[day]
    # What is added today is a thousand times dearer than any weekly sum, so as little of it is taken as will do.
    prices = np.zeros(DAYS + 2)
    prices[0], prices[1] = 1, 1_000
    sums = (0, None) if weekly is None else (weekly, weekly)
    answer = linprog(
        prices, A_eq=equations.tocsr(), b_eq=right, bounds=[sums] + [(0, None)] * (DAYS + 1), method="highs"
    )
    assert answer.status == 0, answer.message
    return float(answer.x[0]), float(answer.x[1])


def a_case(chance: Random) -> tuple[list[Bill], int, frozenset[int]]:
    """Bills of a year as they may come: few or many, early or late, with some weeks off."""
    bills = [
        bill(int(DAYS * chance.random() ** chance.choice([0.5, 1, 2])), chance.randint(1_00, 1_200_00))
        for _ in range(chance.randint(1, 30))
    ]
    every = chance.choice([0, 7, 30])
    rent = chance.randint(40_00, 200_00)
    bills += [bill(day, rent, pauses=True) for day in range(3, DAYS, every)] if every else []
    off = frozenset(chance.sample(range(1, 54), chance.choice([0, 0, 2, 6])))
    return bills, chance.choice([0, 0, chance.randint(0, 2_000_00)]), off


@pytest.mark.parametrize("seed", range(300))
def test_the_smallest_weekly_sum_is_the_programmes(seed: int) -> None:
    bills, balance, off = a_case(Random(seed))  # noqa: S311 - cases, not secrets
    weekly, added = solved(bills, balance, off)
    found = smallest_weekly(bills, balance, Weeks(TODAY, off))
    assert found.short == pytest.approx(added, abs=NEAR * 100)
    assert found.weekly == math.ceil(weekly - NEAR * 100)


@pytest.mark.parametrize("seed", range(300, 340))
def test_the_balance_that_a_sum_needs_is_the_programmes(seed: int) -> None:
    chance = Random(seed)  # noqa: S311 - cases, not secrets
    bills, _, off = a_case(chance)
    weekly = chance.randint(0, 300_00)
    _, added = solved(bills, 0, off, weekly=weekly)
    assert balance_needed(bills, weekly, Weeks(TODAY, off)) == pytest.approx(added, abs=NEAR * 100)


@pytest.mark.parametrize("seed", range(340, 346))
def test_the_reserve_of_an_illness_is_the_programmes_for_every_week_in_which_it_may_begin(seed: int) -> None:
    chance = Random(seed)  # noqa: S311 - cases, not secrets
    bills, balance, off = a_case(chance)
    weekly, weeks_ill = chance.randint(20_00, 300_00), chance.randint(1, 8)
    reserves = []
    for first in range(1, 54):
        begins, ends = 7 * (first - 1), 7 * (first - 1 + weeks_ill)
        asked = [one for one in bills if not (one.pauses and begins <= (one.on - TODAY).days < ends)]
        _, added = solved(asked, balance, off | frozenset(range(first, first + weeks_ill)), weekly=weekly)
        reserves.append(added)
    found = illness(bills, balance, weekly, Weeks(TODAY, off), weeks_ill)
    assert found.extra == pytest.approx(max(reserves), abs=NEAR * 100)
