"""Slips in an entry that is otherwise ordinary, each with what was meant."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from tests.core.costing.plausible.ordinary import Typed


class Made(NamedTuple):
    """What is typed, and the fields of what was meant."""

    name: str
    typed: Typed
    meant: dict[str, Any]


def slips(kind: str, right: Typed, before: list[Typed]) -> Iterator[Made]:
    """The slips that may happen to an entry, after the accepted ones of its kind."""

    def made(name: str, **wrong: Any) -> Made:
        return Made(name, right | wrong, {field: right[field] for field in wrong})

    if kind == "fill":
        yield from _of_fill(right, before, made)
    if kind == "cost":
        yield from _of_cost(right, before, made)
    if kind == "lessons":
        yield from _of_week(right, made)
    day = {"fill": "filled_on", "cost": "paid_on"}.get(kind)
    if day and not right.get("covers_from"):
        yield made("last year", **{day: _years(right[day], -1)})
    again = before[-1] if before else None
    if again and kind != "lessons":
        yield Made("again", dict(again), {"leave_out": "on"})


def _of_fill(right: Typed, before: list[Typed], made: Any) -> Iterator[Made]:
    miles, amount, quantity = right["odometer"], right["amount"], right["quantity"]
    yield (
        made("odometer nought too many", odometer=miles // 10 * 100 + 0)
        if miles % 10 == 0
        else made("odometer ten times", odometer=miles * 10)
    )
    if miles % 10 == 0:
        yield made("odometer nought too few", odometer=miles // 10)
    yield made("odometer digit doubled", odometer=int(str(miles)[0] * 2 + str(miles)[1:]))
    text = str(miles)
    if text[0] != text[1]:
        yield made("odometer swapped", odometer=int(text[1] + text[0] + text[2:]))
    yield made("paid in pence", amount=amount * 100)
    yield made("paid ten times", amount=amount * 10)
    if amount % 10 == 0:
        yield made("paid a tenth", amount=amount // 10)
    yield made("quantity ten times", quantity=quantity * 10)
    yield made("quantity hundred times", quantity=quantity * 100)
    yield made("quantity a tenth", quantity=quantity // 10)
    yield made("swapped", amount=quantity // 10, quantity=amount * 10)


def _of_cost(right: Typed, before: list[Typed], made: Any) -> Iterator[Made]:
    amount = right["amount"]
    yield made("sum in pence", amount=amount * 100)
    if right["category"] in {"insurance", "vehicle_tax", "mot", "finance", "breakdown_cover", "servicing"}:
        yield made("sum ten times", amount=amount * 10)
        if amount % 10 == 0:
            yield made("sum a tenth", amount=amount // 10)
    if right["covers_from"]:
        yield made("cover to next year", covers_to=_years(right["covers_to"], 1))
        yield made("cover in last year", covers_from=_years(right["covers_from"], -1))
        both = {name: _years(right[name], -1) for name in ("covers_from", "covers_to")}
        yield made("whole cover in last year", **both)


def _of_week(right: Typed, made: Any) -> Iterator[Made]:
    if right["hours"] and right["hours"] % 60 == 0:
        yield made("hours ten times", hours=right["hours"] * 10)
    if right["hours"] and right["hours"] % 30 == 0 and right["hours"] // 10 % 3 == 0:
        yield made("hours a tenth", hours=right["hours"] // 10)
        day = next(number for number in range(7) if right[f"day_{number}"])
        yield made("lessons doubled", **{f"day_{day}": 11 * right[f"day_{day}"]})


def _years(day: str, years: int) -> str:
    return f"{int(day[:4]) + years}{day[4:]}"


def same_week(right: Typed) -> Made:
    """The same week's lessons again, days later."""
    return Made("same week", dict(right), {"how": "replace"})
