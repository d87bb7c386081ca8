"""What can be wrong with an offers document, and the checks of one value against another."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from config import budgets
from config.showing import on_one_line
from costing.choosing.core.case import Offer
from costing.choosing.core.inputs import INPUTS, bears_on
from costing.core.catalogue.agreements import AGREEMENT_KINDS, AgreementKind

#: Where something stands: its table, its number if the table is one of a list, and its key.
Place = tuple[str | int, ...]


class DocumentFault(NamedTuple):
    """What is wrong at one place of a document."""

    place: Place
    words: str

    @property
    def key(self) -> str:
        """The place in words: ``offer 2, payment``."""
        parts = [on_one_line(f"{self.place[0]}", longest=40)]
        for part in self.place[1:]:
            if isinstance(part, int):
                parts[-1] += f" {part + 1}"
            else:
                parts.append(on_one_line(part, longest=40))
        return ", ".join(parts)


class Unreadable(ValueError):
    """A document that has faults: all of them, in its own order."""

    def __init__(self, faults: Sequence[DocumentFault]) -> None:
        super().__init__("; ".join(f"{fault.key}: {fault.words}" for fault in faults))
        self.faults = list(faults)


def cross_field_faults(
    tables: Mapping[str, Any], lists: Mapping[str, Any], found: Iterable[DocumentFault]
) -> Iterator[DocumentFault]:
    """Check each value against the others, except in tables that have a fault of their own among those ``found``."""
    faulty = {fault.place[:length] for fault in found for length in (1, 2)}

    def sound(name: str) -> list[tuple[int, Mapping[str, Any]]]:
        return [(index, row) for index, row in enumerate(lists[name]) if (name, index) not in faulty]

    names = [offer.get("name") for offer in lists["offer"]]
    for index, offer in sound("offer"):
        if offer["name"] in names[:index]:
            yield DocumentFault(("offer", index, "name"), f'"{offer["name"]}" is already the name of another offer')
        yield from (DocumentFault(("offer", index, key), words) for key, words in _of_offer(offer))
    if ("use",) not in faulty:
        use = tables["use"]
        yield from (DocumentFault(("use", key), words) for key, words in _of_use(use))
        for index, change in sound("what_if"):
            yield from (DocumentFault(("what_if", index, key), words) for key, words in _of_what_if(change, use))
    named = [(one.get("input"), one.get("offer")) for one in lists["uncertain"]]
    for index, one in sound("uncertain"):
        if named[index] in named[:index]:
            yield DocumentFault(("uncertain", index, "input"), f"{one['input']} has two ranges: remove one of them")
        if ("offer",) not in faulty:
            faults = _of_uncertain(one, lists["offer"])
            yield from (DocumentFault(("uncertain", index, key), words) for key, words in faults)
    yield from _of_pairs(sound("uncertain"))


def _of_use(use: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    if use["private_miles_per_year"] > use["miles_per_year"]:
        yield "private_miles_per_year", "is more than the miles of the whole year"


def _of_offer(offer: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    kind = AGREEMENT_KINDS[offer["kind"]]
    for key in kind.needs:
        if not offer[key]:
            yield key, f"is missing: {kind.one} needs it"
    for key, why in kind.refuses.items():
        if offer[key]:
            yield key, f"makes no sense for {kind.one}: {why}"
    if offer["at_end"] not in kind.ends:
        yield "at_end", _cannot_end_so(kind)
    if kind.is_credit and 0 < offer["price"] <= offer["deposit"]:
        yield "deposit", "leaves nothing to borrow: it must be less than the price"


def _cannot_end_so(kind: AgreementKind) -> str:
    if kind.is_hire:
        return f"must be hand_back: {kind.one} ends with the car going back"
    others = " or ".join(other.one for other in AGREEMENT_KINDS.values() if other.has_choice_of_end)
    return f"cannot be hand_back for {kind.one}: only {others} can go back"


#: The tables in which one key limits another.
CROSS_CHECKS = {"use": _of_use, "offer": _of_offer}


def _of_what_if(change: Mapping[str, Any], use: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    months = use["months"]
    compared = "month" if months == 1 else f"{months} months"
    if change["leave_at_month"] is not None and change["leave_at_month"] > months:
        yield "leave_at_month", f"is after the {compared} compared"
    if change["weeks_off"] is not None and change["weeks_off"].from_week > months * 52 // 12:
        yield "weeks_off", f"begins after the {compared} compared"
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
            yield "offer", f'{name} makes no difference to "{meant.name}" ({meant.kind})'
    if name == "months" and (one["low"] < 1 or one["high"] > 120):
        yield "low" if one["low"] < 1 else "high", "months must be between 1 and 120"
    if name == "miles_per_year" and one["low"] <= 0:
        yield "low", "must be above 0: a car that isn’t driven has no cost a mile"


def _of_pairs(ranges: Sequence[tuple[int, Mapping[str, Any]]]) -> Iterator[DocumentFault]:
    """Limit the work: months and weeks off are drawn whole, and each pair is worked out for every offer."""
    whole = [(index, one) for index, one in ranges if INPUTS[one["input"]].is_whole]
    pairs = math.prod(max(1, round(one["high"]) - round(one["low"]) + 1) for _, one in whole)
    if len(whole) > 1 and pairs > budgets.DRAWN_PAIRS:
        words = f"makes {pairs:,} pairs of months and weeks off, together with the range before it"
        most = f"at most {budgets.DRAWN_PAIRS:,} can be worked out, so narrow one of the two ranges"
        yield DocumentFault(("uncertain", whole[-1][0], "high"), f"{words}: {most}")
