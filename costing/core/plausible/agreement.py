"""Whether the terms of an agreement can be right: its payments against its price, and the rate that follows.

Typed are whole pence, ``payments``, ``quoted_apr`` in hundredths of a percent, ``kind`` and ``frequency``; None for
what is not told.
"""

from collections.abc import Iterator

from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.finance import annual_rate, flows_of, period_rate
from fleet.core.plausible.checks import FAR, Candidate, Check, weigh
from fleet.core.plausible.doubt import Doubt, Typed
from fleet.core.plausible.slips import NEIGHBOUR, POINT, as_text, undone

#: Pence. What cars that are taught in cost, new or old; a rental or instalment a month. Common practice, no source.
_PRICES, _A_MONTH, _HIRED = (50_000, 8_000_000), (4_000, 200_000), (15_000, 200_000)
#: Months. Finance of a car runs for seven years at the most, as a rule. Common practice, no source.
_LONGEST = 84
#: Of more no rate is worked out.
_MOST_PAYMENTS = 600
#: Hundredths of a percent. Credit for a car that is dearer is no longer offered by anybody. Common practice, no source.
_MOST_APR = 4_000
#: How far the rate worked out lies from the quoted one at the most: rounding, and fees that a quote counts otherwise.
_NEAR, _NEAR_PERCENT = 150, 20
_BOUGHT = ("price", "deposit", "payment", "payments", "frequency", "final_payment", "fees")
_PLACES = {"quoted_apr": 2, "payments": 0, "mileage_allowance": 0}
#: Miles a year that a lender allows.
_ALLOWED = (1_000, 80_000)
_OTHER = {"month": "week", "week": "month"}


def doubts(typed: Typed) -> list[Doubt]:
    """What may be wrong with the terms of an agreement that has all that its kind needs."""
    return weigh(typed, lambda tried: list(_checks(tried)), lambda: _candidates(typed), written)


def written(field: str, value: int | str | None) -> str:
    """A value as it is typed."""
    if not isinstance(value, int):
        return value or ""
    return as_text(value, _PLACES.get(field, 2))


def worked_out(typed: Typed) -> int | None:
    """The APR that the terms of a credit come to, in hundredths of a percent; None if there is none.

    Below nought, less is repaid than was lent.
    """
    if (typed["payments"] or 0) > _MOST_PAYMENTS:
        return None
    credit = (typed["price"] or 0) - (typed["deposit"] or 0)
    flows = flows_of(typed["payment"] or 0, typed["payments"] or 0, typed["fees"] or 0, typed["final_payment"] or 0)
    rate = period_rate(credit, flows)
    if rate is None:
        return None
    apr = annual_rate(rate, "week" if typed["frequency"] == "week" else "month")
    return int(max(-9_999.0, min(10_000 * apr, float(FAR))))


def _checks(typed: Typed) -> Iterator[Check]:
    kind = AGREEMENT_KINDS[typed["kind"]]
    price, payment = typed["price"], typed["payment"]
    if price is not None and kind.becomes_own:
        low, high = _PRICES
        yield Check("price", "price_far", price, low, 1_500_000, high, ("price",), {"price": price})
    if payment:
        a_month = payment * 52 // 12 if typed["frequency"] == "week" else payment
        figures = {"payment": payment, "each": typed["frequency"] or "month"}
        low, high = _HIRED if kind.is_hire else _A_MONTH
        yield Check("payment", "payment_far", a_month, low, 30_000, high, ("payment", "frequency"), figures)
    if typed["payments"]:
        months = typed["payments"] * 12 // 52 if typed["frequency"] == "week" else typed["payments"]
        figures = {"payments": typed["payments"], "each": typed["frequency"] or "month", "years": months // 12}
        yield Check("payments", "payments_far", months, 0, 48, _LONGEST, ("payments", "frequency"), figures)
    if typed["mileage_allowance"] is not None:
        allowed = typed["mileage_allowance"]
        least, most = _ALLOWED
        yield Check(
            *("mileage_allowance", "allowance_far", allowed, least, 12_000, most, ("mileage_allowance",)),
            {"miles": allowed},
        )
    if kind.is_credit:
        yield from _credit_checks(typed)


def _credit_checks(typed: Typed) -> Iterator[Check]:
    price, deposit = typed["price"], typed["deposit"] or 0
    yield Check(*("deposit", "deposit_high", deposit, 0, price // 10, price - 1, ("price", "deposit"), {}), False)
    apr = worked_out(typed)
    if apr is None:
        return
    figures = {"apr": 10 * apr, "quoted": 10 * (typed["quoted_apr"] or 0)}
    yield Check(*("payments", "repaid_low", apr, 0, 900, FAR, _BOUGHT, figures), False)
    yield Check("payment", "apr_high", apr, -FAR, 900, _MOST_APR, _BOUGHT, figures)
    if typed["quoted_apr"] is not None:
        quoted = typed["quoted_apr"]
        near = max(_NEAR, quoted * _NEAR_PERCENT // 100)
        rests_on = (*_BOUGHT, "quoted_apr")
        yield Check("quoted_apr", "apr_far", apr, quoted - near, quoted, quoted + near, rests_on, figures)


def _candidates(typed: Typed) -> Iterator[Candidate]:
    if typed["frequency"]:
        yield Candidate(POINT, {"frequency": _OTHER[typed["frequency"]]}, f"by_{_OTHER[typed['frequency']]}")
    if typed["price"] and typed["deposit"]:
        yield Candidate(POINT, {"price": typed["deposit"], "deposit": typed["price"]}, "swap_deposit")
    if typed["payments"] and typed["payments"] <= _LONGEST // 12:
        yield Candidate(NEIGHBOUR, {"payments": 12 * typed["payments"]})
    if typed["payments"]:
        yield Candidate(NEIGHBOUR, {"payments": typed["payments"] + 1})
        yield Candidate(NEIGHBOUR, {"payments": max(1, typed["payments"] - 1)})
    for field in ("price", "deposit", "payment", "payments", "final_payment", "quoted_apr", "mileage_allowance"):
        if typed[field]:
            for rank, value in undone(typed[field], _PLACES.get(field, 2)):
                # With another digit anywhere some rate is near: that would be guessing, and each rate takes time.
                if rank <= NEIGHBOUR:
                    # The point of a quoted rate is nearest at hand: other figures agree with one another.
                    yield Candidate(rank - (field == "quoted_apr"), {field: value})
    apr = worked_out(typed) if AGREEMENT_KINDS[typed["kind"]].is_credit else None
    if typed["quoted_apr"] is not None and apr is not None and 0 <= apr <= _MOST_APR:
        yield Candidate(NEIGHBOUR, {"quoted_apr": apr // 10 * 10})
