"""Whether a fill can be right: its price, its quantity, the miles since the last one, and whether it was logged before.

Quantities are thousandths of a litre or kWh, sums pence, prices tenths of a penny a litre or kWh, economy miles per 100
litres or kWh. What is known of cars and pumps in general is common practice, no source.
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import NamedTuple

from costing.core.economy import in_order, stretches
from costing.core.records import Fill, Unit
from fleet.core.plausible import odometer
from fleet.core.plausible.checks import FAR, Candidate, Check, weigh
from fleet.core.plausible.days import day_candidates, day_checks
from fleet.core.plausible.doubt import Doubt, Limits, Typed
from fleet.core.plausible.scatter import FEWEST, Range, usual_range
from fleet.core.plausible.slips import DIGIT, NEIGHBOUR, POINT, as_text, undone

#: So many fills are looked at, the last ones; so many of them for one that is the same.
MOST_FILLS = 60
_SAME_AMONG = 12
_PLACES = {"odometer": 0, "amount": 2, "quantity": 3}


class _Nature(NamedTuple):
    """What holds for any car: least and most of price and economy, the most that goes in, how far a brim is off."""

    prices: tuple[int, int]
    economy: tuple[int, int]
    most: int
    slack: int
    price_percent: int
    economy_percent: int


_NATURE: dict[Unit, _Nature] = {
    # 95p to 250p a litre; 10 to 100 mpg; a tank of 100 litres at most.
    "litre": _Nature((950, 2_500), (220, 2_200), 100_000, 8_000, 30, 50),
    # 4p to 95p a kWh; 1.2 to 7 miles a kWh; a battery of 130 kWh at most, charged to nearly the same level or not.
    "kwh": _Nature((40, 950), (120, 700), 130_000, 20_000, 15, 50),
}
UNITS = tuple(_NATURE)
#: How near a price must be to one that was paid before, in thousandths: near, nearly the same, the same.
_NEAR, _NEARLY_SAME, _SAME = 80, 30, 20
#: At home and out a charge has prices of which one is about ten times the other: only just ten times is a slip.
_SAME_CHARGE = 8
#: By so many tenths may the economy be better than in the middle.
_FAR_BETTER = 16
_PRICES_LATELY = 30


def limits(
    fills: Iterable[Fill], shown: Limits, fuel: str, latest: date | None, today: date, *, units: Iterable[Unit] = UNITS
) -> Limits:
    """What one car's standing fills allow in ``units``, with what its odometer has ``shown``: `odometer.limits`.

    ``latest`` is the day of the fill that was logged last, ``fuel`` the car's.
    """
    known = in_order(fills)[-MOST_FILLS:]
    return {
        "today": today.isoformat(),
        "latest": latest.isoformat() if latest else None,
        "fuel": fuel,
        "odometer": shown,
        "units": {unit: _limits_of(unit, known, has_engine=fuel == "plugin_hybrid") for unit in units},
        "fills": [
            [one.filled_on.isoformat(), one.odometer, one.pence, one.thousandths] for one in known[-_SAME_AMONG:]
        ],
    }


def _limits_of(unit: Unit, fills: Sequence[Fill], *, has_engine: bool) -> Limits:
    nature, own = _NATURE[unit], [fill for fill in fills if fill.unit == unit]
    prices = [price(fill.pence, fill.thousandths) for fill in [fill for fill in own if fill.pence][-_PRICES_LATELY:]]
    # Some charge at home and out: a median says nothing of two prices, each of which is usual.
    usual = usual_range(prices, floor_percent=nature.price_percent) if unit == "litre" else None
    low, high = nature.prices
    limited: Limits = {
        "prices": [low, (low + high) // 2, high],
        "seen": sorted(set(prices)) if len(prices) >= FEWEST else [],
        "lately": prices[-1:],
        "is_litre": (unit == "litre") + 0,
    }
    if usual:
        limited["prices"] = [usual.low, usual.middle, usual.high]
    runs = [100_000 * one.miles // one.thousandths for one in stretches(own, unit) if one.miles > 0]
    economy = usual_range(runs, floor_percent=nature.economy_percent)
    least, most = nature.economy
    if economy:
        limited["economy"] = [max(economy.low, least // 2), economy.middle, _best(economy, most)]
    else:
        limited["economy"] = [least, (least + most) // 2, most]
    if has_engine:
        # Miles on the other source count against neither.
        limited["economy"] = [least // 3, limited["economy"][1], FAR]
    quantities = [fill.thousandths for fill in own]
    largest = max(quantities, default=0)
    return limited | {
        "most": max(largest, min(nature.most, 2 * largest + 10_000) if len(own) >= FEWEST else nature.most),
        "slack": max(nature.slack, largest * 2 // 5) if unit == "kwh" else nature.slack,
        "run": _run(own),
        "free": any(not fill.pence for fill in own) + 0,
    }


def _best(economy: Range, most: int) -> int:
    return min(max(economy.high, economy.middle * _FAR_BETTER // 10), 2 * most)


def _run(fills: Sequence[Fill]) -> Limits | None:
    """The miles at the last brim, what went in since, and the day and miles of the last fill; None without a brim."""
    brim: Fill | None = None
    put_in = 0
    for fill in fills:
        if fill.gap_before:
            brim = None
        put_in += fill.thousandths
        if fill.brimmed:
            brim, put_in = fill, 0
    if brim is None:
        return None
    last = fills[-1]
    return {"brim": brim.odometer, "put_in": put_in, "on": last.filled_on.isoformat(), "miles": last.odometer}


def price(pence: int, thousandths: int) -> int:
    """Tenths of a penny a litre or kWh, by floor."""
    return 10_000 * pence // thousandths


def doubts(typed: Typed, limits: Limits, *, with_meanings: bool = True) -> list[Doubt]:
    """What may be wrong with a fill: ``filled_on``, ``odometer``, ``amount``, ``quantity``, ``unit``, ``brimmed``,
    ``gap_before`` ("on" or "").
    """
    return weigh(
        typed,
        lambda tried: list(_checks(tried, limits)),
        lambda: _candidates(typed, limits) if with_meanings else (),
        written,
    )


def written(field: str, value: int | str | None) -> str:
    """A value as it is typed."""
    if not isinstance(value, int):
        return value or ""
    text = as_text(value, _PLACES[field])
    return f"{text}0" if field == "amount" and "." in text and text[-2] == "." else text


def _checks(typed: Typed, limits: Limits) -> Iterator[Check]:
    if typed.get("leave_out"):
        return
    own = _own(typed, limits)
    amount, quantity = typed["amount"], typed["quantity"]
    unit, bought = typed["unit"], ("amount", "quantity")
    same = [one for one in limits["fills"] if _is_same(typed, one)]
    yield Check(
        *("filled_on", "same_fill", len(same), 0, 0, 0, ("filled_on", *bought)), {"paid": amount, "quantity": quantity}
    )
    yield from odometer.checks(typed, limits["odometer"], "odometer", "filled_on")
    yield from day_checks(typed, limits, "filled_on")
    paid = price(amount, quantity)
    figures: dict[str, int | str] = {"paid": amount, "quantity": quantity, "price": paid, "usual": own["prices"][1]}
    if not amount:
        yield Check("amount", f"nothing_paid_{unit}", 0, 0 if own["free"] else 1, 1, FAR, bought, figures)
    else:
        low, middle, high = _range_of(paid, own)
        figures |= {"usual": middle}
        reason = f"price_{unit}" if own["seen"] else f"price_{unit}_new"
        yield Check("amount", reason, paid, low, middle, high, bought, figures)
    most = own["most"]
    yield Check(
        "quantity", f"much_{unit}", quantity, 0, most // 2, most, ("quantity",), {"quantity": quantity, "most": most}
    )
    yield from _economy(typed, own)


def _range_of(paid: int, own: Limits) -> list[int]:
    """The range of a price: wide enough for one that was paid before, unless with the point elsewhere it is another.

    At 7p at home and 75p out, 70p is rather 7p.
    """
    low, middle, high = own["prices"]
    near, off = _nearest(paid, own)
    same, alike = (_SAME, _NEAR) if own["is_litre"] else (_SAME_CHARGE, _SAME_CHARGE)
    for meant in (paid * 10, paid // 10):
        other, other_off = _nearest(meant, own)
        if other_off <= (same if off > _NEARLY_SAME else -1) or (off > _NEAR and other_off <= alike):
            return [other, other, other]
    if own["is_litre"]:
        near = middle = own["lately"][0] if own["lately"] else middle
    return [min(low, paid), near, max(high, paid)] if off <= _NEAR else [low, middle, high]


def _nearest(paid: int, own: Limits) -> tuple[int, int]:
    """The price paid before that is nearest to one, and how far off it is in thousandths."""
    seen = own["seen"]
    above = bisect_left(seen, paid)
    nearest = min(seen[max(0, above - 1) : above + 1], key=lambda one: abs(one - paid), default=0)
    return nearest, 1000 * abs(nearest - paid) // nearest if nearest else FAR


def _economy(typed: Typed, own: Limits) -> Iterator[Check]:
    run = own["run"]
    miles, day = typed["odometer"], typed["filled_on"]
    if run is None or typed["gap_before"] or day < run["on"] or miles < run["brim"]:
        return
    least, middle, most = own["economy"]
    slack, total = own["slack"], run["put_in"] + typed["quantity"]
    run_by = miles - run["brim"]
    left = slack if typed["brimmed"] else own["most"]
    figures = {"miles": run_by, "quantity": total, "brim": run["brim"]}
    unit, expected = typed["unit"], total * middle // 100_000
    rests_on = ("odometer", "quantity", "brimmed")
    yield Check(
        "odometer", f"few_{unit}", run_by, max(0, total - slack) * least // 100_000, expected, FAR, rests_on, figures
    )
    high = FAR if most == FAR else (total + left) * most // 100_000
    yield Check("odometer", f"many_{unit}", run_by, -FAR, expected, high, rests_on, figures)


def _is_same(typed: Typed, fill: list[int]) -> bool:
    """Whether a fill in the book is the same: of these miles with one more figure, or of this day with both."""
    day, miles, amount, quantity = fill
    same = (typed["amount"] == amount) + (typed["quantity"] == quantity) + (typed["odometer"] == miles)
    apart = abs(odometer.days_between(str(day), typed["filled_on"]))
    return same >= 2 and (
        apart <= 7 if miles == typed["odometer"] else apart == 0 and abs(miles - typed["odometer"]) <= 20
    )


def _own(typed: Typed, limits: Limits) -> Limits:
    own: Limits = limits["units"][typed["unit"]]
    return own


def _candidates(typed: Typed, limits: Limits) -> Iterator[Candidate]:
    amount, quantity = typed["amount"], typed["quantity"]
    if any(_is_same(typed, one) for one in limits["fills"]):
        yield Candidate(POINT, {"leave_out": "on"}, "leave_out")
        return
    if amount and quantity % 10 == 0:
        yield Candidate(POINT, {"amount": quantity // 10, "quantity": amount * 10}, f"swap_{typed['unit']}")
    if limits["fuel"] == "plugin_hybrid":
        other = "kwh" if typed["unit"] == "litre" else "litre"
        yield Candidate(NEIGHBOUR, {"unit": other}, f"unit_{other}")
    yield from odometer.candidates(typed, limits["odometer"], "odometer", "filled_on")
    for field in ("amount", "quantity"):
        for rank, value in undone(typed[field], _PLACES[field]):
            yield Candidate(rank, {field: value})
    if not amount:
        own = _own(typed, limits)
        # What was paid last is rather meant than the middle of all prices there are.
        for rank, usual in [*((POINT, one) for one in own["lately"]), (NEIGHBOUR, own["prices"][1])]:
            yield Candidate(rank, {"amount": usual * quantity // 10_000})
    if not typed["gap_before"]:
        yield Candidate(DIGIT, {"gap_before": "on"}, "gap")
    if typed["brimmed"]:
        yield Candidate(DIGIT, {"brimmed": ""}, f"part_{typed['unit']}")
    yield from day_candidates(typed, limits, "filled_on")
