"""What is wrong with an offers document though each of its values could be read: one beside the other."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from config import budgets
from costing.core.catalogue.agreements import AGREEMENT_KINDS, AgreementKind
from costing.core.offers.inputs import INPUTS, bears_on
from costing.core.offers.terms import Offer
from costing.offers.faults import Fault


def faults_across(tables: Mapping[str, Any], lists: Mapping[str, Any], found: Iterable[Fault]) -> Iterator[Fault]:
    """What is wrong only beside something else, of whatever has no fault in itself among those ``found``."""
    faulty = {fault.place[:length] for fault in found for length in (1, 2)}

    def sound(name: str) -> list[tuple[int, Mapping[str, Any]]]:
        return [(index, row) for index, row in enumerate(lists[name]) if (name, index) not in faulty]

    names = [offer.get("name") for offer in lists["offer"]]
    for index, offer in sound("offer"):
        if offer["name"] in names[:index]:
            yield Fault(("offer", index, "name"), f'"{offer["name"]}" is the name of another offer')
        yield from (Fault(("offer", index, key), words) for key, words in _of_offer(offer))
    if ("use",) not in faulty:
        use = tables["use"]
        yield from (Fault(("use", key), words) for key, words in _of_use(use))
        for index, change in sound("what_if"):
            yield from (Fault(("what_if", index, key), words) for key, words in _of_what_if(change, use))
    told = [(one.get("input"), one.get("offer")) for one in lists["uncertain"]]
    for index, one in sound("uncertain"):
        if told[index] in told[:index]:
            yield Fault(("uncertain", index, "input"), f"{one['input']} is said twice: take one of the two away")
        if ("offer",) not in faulty:
            yield from (Fault(("uncertain", index, key), words) for key, words in _of_uncertain(one, lists["offer"]))
    yield from _of_pairs(sound("uncertain"))


def _of_use(use: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    if use["private_miles_per_year"] > use["miles_per_year"]:
        yield "private_miles_per_year", "is more than all the miles of a year"


def _of_offer(offer: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    kind = AGREEMENT_KINDS[offer["kind"]]
    for key in kind.needs:
        if not offer[key]:
            yield key, f"is missing: {kind.one} needs it"
    for key, why in kind.refuses.items():
        if offer[key]:
            yield key, f"has no meaning for {kind.one}: {why}"
    if offer["at_end"] not in kind.ends:
        yield "at_end", _cannot_end_so(kind)
    if kind.is_credit and 0 < offer["price"] <= offer["deposit"]:
        yield "deposit", "leaves nothing to be lent: it must be less than the price"


def _cannot_end_so(kind: AgreementKind) -> str:
    if kind.is_hire:
        return f"{kind.one} is handed back at its end"
    others = " or ".join(other.one for other in AGREEMENT_KINDS.values() if other.has_choice_of_end)
    return f"a car that is {kind.name} is one's own: only {others} can be handed back"


#: The tables of which some keys bear on each other.
ACROSS = {"use": _of_use, "offer": _of_offer}


def _of_what_if(change: Mapping[str, Any], use: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    months = use["months"]
    if change["leave_at_month"] is not None and change["leave_at_month"] > months:
        yield "leave_at_month", f"lies after the horizon of {months} months"
    if change["weeks_off"] is not None and change["weeks_off"].from_week > months * 52 // 12:
        yield "weeks_off", f"begins after the horizon of {months} months"
    if change["more_miles"] <= -1:
        yield "more_miles", "leaves no miles at all"


def _of_uncertain(one: Mapping[str, Any], offers: Sequence[Mapping[str, Any]]) -> Iterator[tuple[str, str]]:
    name = one["input"]
    for lesser, greater in (("low", "likely"), ("likely", "high")):
        if one[lesser] > one[greater]:
            yield lesser, f"is more than {greater}"
    if one["offer"] and INPUTS[name].of != "offer":
        yield "offer", f"{name} is the same for every offer"
    elif one["offer"]:
        meant = next((Offer(**offer) for offer in offers if offer["name"] == one["offer"]), None)
        if meant is None:
            yield "offer", f'there is no offer called "{one["offer"]}"'
        elif not bears_on(name, meant):
            yield "offer", f'{name} means nothing for "{meant.name}" ({meant.kind})'
    if name == "months" and (one["low"] < 1 or one["high"] > 120):
        yield "low" if one["low"] < 1 else "high", "months lie between 1 and 120"
    if name == "miles_per_year" and one["low"] <= 0:
        yield "low", "must be more than nothing: a car that is not driven has no cost a mile"


def _of_pairs(ranges: Sequence[tuple[int, Mapping[str, Any]]]) -> Iterator[Fault]:
    """Months and weeks off are drawn whole, and every pair that may come up is worked out for every offer."""
    whole = [(index, one) for index, one in ranges if INPUTS[one["input"]].is_whole]
    pairs = math.prod(max(1, round(one["high"]) - round(one["low"]) + 1) for _, one in whole)
    if len(whole) > 1 and pairs > budgets.DRAWN_PAIRS:
        words = f"makes, with the range said before it, {pairs:,} pairs of months and weeks off"
        most = f"at most {budgets.DRAWN_PAIRS:,} are worked out, so take one of the two ranges narrower"
        yield Fault(("uncertain", whole[-1][0], "high"), f"{words}: {most}")
