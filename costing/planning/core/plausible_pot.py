"""Whether a bill, a quote or a pot can be right: by what was paid before, by the law, and by the year's bills."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

from costing.core.catalogue.bills import BILL_KINDS, TAX_BILL, BillKind
from costing.core.money import divide_half_up
from costing.core.plausible.cost import sum_check
from costing.planning.core.bills import year_from
from fleet.core.days import add_months
from fleet.core.plausible.checks import FAR, Candidate, Check, weigh
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.odometer import days_between
from fleet.core.plausible.scatter import median
from fleet.core.plausible.slips import DIGIT, NEIGHBOUR, POINT, as_text, undone

#: Pence of a tax bill, of a registration or licence, and of anything else. Common practice, no source.
_A_TAX_BILL, _A_LICENCE, _ANYTHING = (1_000, 100_000, 2_000_000), (500, 15_000, 100_000), (100, 10_000, 500_000)
#: So many times a member's own bills of a kind, more or less, is usual.
_TIMES = 4
#: So many times what it cost last is usual of a quote. Common practice, no source.
_TIMES_LAST = 2
#: Nobody plans further ahead: a photocard lasts ten years.
_MOST_AHEAD = 10 * 366
#: Days within which a second bill of a kind may be the same one with another sum; by the month is no such thing.
_NEAR = 21
#: A quote for what is renewed is for a year, as a rule.
_YEAR_COVERED = {"covers_from": "2001-01-01", "covers_to": "2001-12-31"}
#: Pence in a pot, and put by each week, that ask for no reason. Common practice, no source.
_SMALL_POT, _SMALL_WEEKLY = 300_000, 10_000
#: Weeks of holiday in 12 months that ask for no reason. Common practice, no source.
_MOST_HOLIDAY = 26
#: So many times what was last in the pot, or is put by, is usual; of a week's share of the year's bills too.
_MORE = 3
_MONTHS, _WEEKS = 12, 52


def written(field: str, value: int | str | None) -> str:
    """A value as it is typed."""
    if not isinstance(value, int):
        return value or ""
    text = as_text(value, 2)
    return f"{text}0" if text[-2:-1] == "." else text


class Entered(NamedTuple):
    """A bill of the member's own in the book: its kind, the mark of its car, its day, pence, words, and its number."""

    kind: str
    car: str
    due_on: str
    pence: int
    words: str
    is_yearly: bool = False
    number: int = 0


def bill_limits(
    kind: BillKind,
    words: str,
    entered: Iterable[Entered],
    of_category: Limits | None,
    today: date,
    *,
    is_new: bool,
    last_price: int | None = None,
) -> Limits:
    """What the member's other bills, and their costs of the kind's category, allow of one.

    ``of_category`` is what `costing.core.plausible.cost.limits` has of it; None if the kind has none of its own.
    ``last_price`` are the pence at which the pot counts it so far.
    """
    others = list(entered)
    same = [one.pence for one in others if (one.kind, one.words) == (kind.name, words) and one.pence]
    return {
        "today": today.isoformat(),
        "last": year_from(today).last.isoformat(),
        "title": words or kind.words,
        "of_category": of_category,
        "range": list(_range_of(kind, same)),
        "has_own": bool(same),
        "entered": [list(one) for one in others],
        "is_new": is_new,
        "last_price": last_price,
    }


def _range_of(kind: BillKind, same: Sequence[int]) -> tuple[int, int, int]:
    if same:
        return min(same) // _TIMES, int(median(same)), max(same) * _TIMES
    if kind == TAX_BILL:
        return _A_TAX_BILL
    return _A_LICENCE if kind.falls_due else _ANYTHING


def bill_doubts(typed: Typed, limits: Limits) -> list[Doubt]:
    """What may be wrong with a bill: its ``kind``, ``words`` and ``car`` (""), ``amount`` in pence, ``due_on`` (None
    of a quote without a day), ``is_yearly`` ("on" or "") and ``instead``, the number of the one whose place it takes.
    """
    # What is meant may be in the list already: it is offered all the same, and asked about once it is chosen.
    same = sum(_is_same(typed, one) for one in limits["entered"])
    return weigh(
        typed, lambda tried: list(_bill_checks(tried, limits, same)), lambda: _bill_candidates(typed, limits), written
    )


def replaced(typed: Typed, limits: Limits) -> int | None:
    """The number of the bill whose place it takes: that of ``instead``, while it is the one that is asked about."""
    near = None if any(_is_same(typed, one) for one in limits["entered"]) else _near(typed, limits)
    return near.number if near and typed["instead"] == str(near.number) else None


def _bill_checks(typed: Typed, limits: Limits, same: int) -> Iterator[Check]:
    if typed.get("leave_out"):
        return
    amount, day = typed["amount"], typed["due_on"]
    about: dict[str, int | str] = {"amount": amount, "title": limits["title"], "day": day or ""}
    rests_on = ("kind", "words", "car", "amount", "due_on")
    yield Check("amount", "same_bill" if day else "same_quote", same, 0, 0, 0, rests_on, about)
    if not same and (near := _near(typed, limits)) and typed.get("instead") != str(near.number):
        figures = {**about, "there": near.pence, "day": near.due_on}
        yield Check("amount", "near_bill", 1, 0, 0, 0, (*rests_on, "is_yearly"), figures)
    if amount:
        yield _sum_check(typed, limits)
    if not day:
        return
    ahead = days_between(limits["today"], day)
    if not typed["is_yearly"]:
        yield Check("due_on", "bill_past", ahead, 0, 0, FAR, ("due_on", "is_yearly"), about)
    yield Check("due_on", "bill_far", ahead, -FAR, 0, _MOST_AHEAD, ("due_on",), about)


def _sum_check(typed: Typed, limits: Limits) -> Check:
    kind, amount = BILL_KINDS[typed["kind"]], typed["amount"]
    rests_on = ("kind", "words", "amount")
    figures: dict[str, int | str]
    if limits["of_category"]:
        as_cost = {"category": kind.category, "amount": amount, **_YEAR_COVERED}
        check = sum_check(as_cost, limits["of_category"])._replace(rests_on=rests_on)
        if (last := limits["last_price"]) and check.reason != "sum_mot":
            low, high = min(check.low, last), min(check.high, _TIMES_LAST * last)
            figures = {**check.figures, "usual": last}
            check = check._replace(reason="sum_last", low=low, middle=last, high=high, figures=figures)
        return check
    low, middle, high = limits["range"]
    reason = "bill" if limits["has_own"] else "bill_new"
    figures = {"amount": amount, "title": limits["title"], "usual": middle}
    return Check("amount", reason, amount, low, middle, high, rests_on, figures)


def _is_same(typed: Typed, entered: Sequence[object]) -> bool:
    told = (typed["kind"], typed["car"], typed["due_on"] or "", typed["amount"], typed["words"])
    return tuple(entered)[: len(told)] == told


def _near(typed: Typed, limits: Limits) -> Entered | None:
    """The bill in the list that may be this very one with another sum or day; None if there is none.

    A quote for what falls due is none: the newer one counts, and nothing counts twice.
    """
    if not typed["due_on"] or BILL_KINDS[typed["kind"]].falls_due:
        return None
    others = [Entered(*one) for one in limits["entered"]]
    apart = [(_days_apart(typed, one), one) for one in others if _is_alike(typed, one)]
    days, nearest = min(apart, key=lambda pair: pair[0], default=(FAR, None))
    return nearest if days <= _NEAR else None


def _is_alike(typed: Typed, entered: Entered) -> bool:
    """Whether both are for the same, in whichever letters, and no two cars say otherwise."""
    if entered.kind != typed["kind"] or entered.words.casefold() != typed["words"].casefold() or not entered.due_on:
        return False
    return not (entered.car and typed["car"]) or entered.car == typed["car"]


def _days_apart(typed: Typed, entered: Entered) -> int:
    """The days between both; of one that comes every year, those to its nearest time."""
    first, last = sorted(
        [(date.fromisoformat(typed["due_on"]), bool(typed["is_yearly"])), (_day_of(entered), entered.is_yearly)]
    )
    if not first[1]:
        return (last[0] - first[0]).days
    years = last[0].year - first[0].year
    times = (add_months(first[0], _MONTHS * max(0, years + more)) for more in (-1, 0, 1))
    return min(abs((last[0] - time).days) for time in times)


def _day_of(entered: Entered) -> date:
    return date.fromisoformat(entered.due_on)


def _bill_candidates(typed: Typed, limits: Limits) -> Iterator[Candidate]:
    if any(_is_same(typed, one) for one in limits["entered"]):
        if limits["is_new"]:
            yield Candidate(POINT, {"leave_out": "on"}, "leave_out")
        return
    if limits["is_new"] and (near := _near(typed, limits)):
        yield Candidate(POINT, {"instead": str(near.number)}, "instead")
    amount, day = typed["amount"], typed["due_on"]
    if amount and amount % 1000 == 0:
        # Without its point, and with a nought too many.
        yield Candidate(NEIGHBOUR, {"amount": amount // 1000})
    for rank, value in undone(amount, 2):
        yield Candidate(rank, {"amount": value})
    if not day:
        return
    if day < limits["today"]:
        yield Candidate(POINT, {"due_on": limits["today"]}, "now")
        if not BILL_KINDS[typed["kind"]].falls_due:
            yield Candidate(DIGIT, {"is_yearly": "on"}, "yearly")
    yield Candidate(NEIGHBOUR, {"due_on": _within_the_year(day, limits)})


def _within_the_year(day: str, limits: Limits) -> str:
    """The same day in the 12 months that begin today."""
    on, today = date.fromisoformat(day), date.fromisoformat(limits["today"])
    this_year = add_months(on, 12 * (today.year - on.year))
    return (this_year if this_year >= today else add_months(on, 12 * (today.year + 1 - on.year))).isoformat()


def plan_limits(
    *, total: int, evenly: int, needed: int, last: tuple[date, int] | None = None, weekly: int | None = None
) -> Limits:
    """What the year's bills allow of a pot: their ``total``, an even share a week, and the smallest weekly sum.

    ``last`` is what was in it when that was told last, ``weekly`` what the member said they put by. All in pence.
    """
    return {
        "most_balance": max(total, _MORE * last[1] if last else max(2 * total, _SMALL_POT)),
        "most_weekly": max(_SMALL_WEEKLY, _MORE * evenly, 2 * needed, _MORE * (weekly or 0)),
        "total": total,
        "evenly": evenly,
        "last": [last[0].isoformat(), last[1]] if last else None,
    }


def plan_doubts(typed: Typed, limits: Limits) -> list[Doubt]:
    """What may be wrong with ``balance`` and ``weekly`` (or None), in pence, and with so many weeks of holiday.

    The weeks stand under the name of the field beside which they are asked about, "off_1_to".
    """
    return weigh(typed, lambda tried: list(_plan_checks(tried, limits)), lambda: _plan_candidates(typed), written)


def _plan_checks(typed: Typed, limits: Limits) -> Iterator[Check]:
    balance, weekly, total = typed["balance"], typed["weekly"], limits["total"]
    since, last = limits["last"] or ("", 0)
    reason = "pot_last" if since else "pot_bills" if total else "pot_new"
    figures: dict[str, int | str] = {"balance": balance, "total": total, "last": last, "since": since}
    middle = last or total // 2
    yield _holiday_check(typed)
    yield Check("balance", reason, balance, 0, middle, limits["most_balance"], ("balance",), figures)
    if weekly:
        evenly = limits["evenly"]
        reason = "weekly_bills" if total else "weekly_new"
        figures = {"weekly": weekly, "evenly": evenly}
        yield Check("weekly", reason, weekly, 0, evenly, limits["most_weekly"], ("weekly",), figures)


def _holiday_check(typed: Typed) -> Check:
    weeks = typed["off_1_to"]
    return Check("off_1_to", "holiday_long", weeks, 0, 0, _MOST_HOLIDAY, ("off_1_to",), {"weeks": weeks})


def _plan_candidates(typed: Typed) -> Iterator[Candidate]:
    if typed["weekly"]:
        # A month's sum typed for a week's.
        yield Candidate(POINT, {"weekly": divide_half_up(typed["weekly"] * _MONTHS, _WEEKS)}, "monthly")
    for field in ("balance", "weekly"):
        if typed[field]:
            for rank, value in undone(typed[field], 2):
                yield Candidate(rank, {field: value})
