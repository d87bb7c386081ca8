"""Whether what is planned to be charged can be right: by what was taken an hour, and by the plan before."""

from collections.abc import Iterator, Mapping

from fleet.core.plausible.checks import Candidate, Check, weigh
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.slips import as_text, undone

#: Pence of a lesson hour where nothing tells more. Common practice, no source.
_AN_HOUR = (1_000, 3_800, 15_000)
#: How many times the price of the plan before is asked about, more or less; and sums of a week.
_TIMES, _TIMES_A_WEEK = 2, 4
#: Pence of a week at most where no plan was before. Common practice, no source.
_A_WEEK = {"wanted": 300_000, "other_costs": 50_000, "car_a_week": 60_000}
#: Hundredths of an hour that are taught in a week at most.
_MOST_HOURS = 6_000


def limits(before: Mapping[str, int | None], taken: tuple[int, int, int] | None) -> Limits:
    """What the plan ``before`` and the usual range of what was ``taken`` an hour allow, in pence; None if unknown."""
    price = before.get("lesson_hour_price")
    if taken:
        low, middle, high = max(0, taken[0]), taken[1], taken[2]
        # A price that was found right may rise a little.
        an_hour = [min(low, price * 3 // 4), middle, max(high, price * 5 // 4)] if price else [low, middle, high]
        reason = "charge_taken"
    elif price:
        an_hour, reason = [price // _TIMES, price, price * _TIMES], "charge_before"
    else:
        an_hour, reason = list(_AN_HOUR), "charge_new"
    return {"an_hour": an_hour, "reason": reason, "before": {name: before.get(name) for name in _A_WEEK}}


def doubts(typed: Typed, limits: Limits) -> list[Doubt]:
    """What may be wrong with ``lesson_hour_price``, ``wanted``, ``other_costs`` and ``car_a_week`` in pence, and with
    ``hours_a_week`` in hundredths; None, or nought, is not asked about.
    """
    return weigh(typed, lambda tried: list(_checks(tried, limits)), lambda: _candidates(typed), written)


def written(field: str, value: int | str | None) -> str:
    """A value as it is typed."""
    return as_text(value, 2) if isinstance(value, int) else value or ""


def _checks(typed: Typed, limits: Limits) -> Iterator[Check]:
    if price := typed["lesson_hour_price"]:
        low, middle, high = limits["an_hour"]
        figures: dict[str, int | str] = {"price": price, "usual": middle}
        rests_on = ("lesson_hour_price",)
        yield Check("lesson_hour_price", limits["reason"], price, low, middle, high, rests_on, figures)
    for field, most in _A_WEEK.items():
        if sum_a_week := typed[field]:
            yield _week_check(field, sum_a_week, limits["before"][field], most)
    if hours := typed["hours_a_week"]:
        figures = {"minutes": hours * 60 // 100}
        yield Check("hours_a_week", "hours_many", hours, 0, 2_500, _MOST_HOURS, ("hours_a_week",), figures)


def _week_check(field: str, pence: int, before: int | None, most: int) -> Check:
    if before:
        low, middle, high = before // _TIMES_A_WEEK, before, before * _TIMES_A_WEEK
    else:
        low, middle, high = 0, most // 5, most
    figures: dict[str, int | str] = {"sum": pence, "usual": middle}
    return Check(field, f"{field}_{'before' if before else 'new'}", pence, low, middle, high, (field,), figures)


def _candidates(typed: Typed) -> Iterator[Candidate]:
    for field in ("lesson_hour_price", *_A_WEEK, "hours_a_week"):
        if typed[field]:
            for rank, value in undone(typed[field], 2):
                yield Candidate(rank, {field: value})
