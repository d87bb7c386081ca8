"""What can be wrong with typed tables: what is missing, and what does not go together, for file and page alike.

Each check gives the place of what is wrong inside its table, and the words, which complete "This ...".
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from config.showing import on_one_line, pence_as_pounds
from costing.choosing.core.credit import MOST_PROTECTED_CREDIT
from costing.choosing.document.figures import likely
from costing.choosing.document.keys import FUEL_KEYS, Key, Values, Wrongs
from costing.choosing.document.offer_keys import OFFER, why_refused
from costing.choosing.document.ranges import longest_of, too_many_ranges, wrong_in_ranges
from costing.choosing.document.schema import LISTS, TABLES, Tables, by_name
from costing.core.catalogue.agreements import AGREEMENT_KINDS

#: Where something stands: its table, its number if the table is one of a list, and its key.
KeyPath = tuple[str | int, ...]


class DocumentFault(NamedTuple):
    """What is wrong at one place of a document."""

    place: KeyPath
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


def checked(tables: Tables, found: Sequence[DocumentFault] = ()) -> Tables:
    """The same typed tables, if nothing is missing and all goes together. Raises Unreadable, with the faults ``found``.

    A table that has a fault of its own is not held against another.
    """
    faults = [*found, *_missing(tables, {fault.place for fault in found})]
    faults += list(_wrong_together(tables, faults))
    if faults:
        raise Unreadable(faults)
    return tables


def faults_of_use(use: Values) -> dict[str, str]:
    """What is wrong in a typed ``[use]``, by key."""
    return _by_key(wrong_in_use(use))


def faults_of_running(running: Values) -> dict[str, str]:
    """What is wrong in a typed ``[running]``, by key."""
    return _by_key(wrong_in_running(running))


def faults_of_offer(offer: Values, months: int | None = None) -> dict[str, str]:
    """What is wrong in a typed offer, by key, for a comparison over so many months if they are known."""
    return faults_in_offer(offer, 0, (), months)


def faults_in_offer(
    offer: Values, index: int, found: Iterable[DocumentFault], months: int | None = None
) -> dict[str, str]:
    """The same for the offer of this number, of which the faults ``found`` may be known already."""
    here = ("offer", index)
    faults = [fault for fault in found if fault.place[:2] == here]
    faults += _missing_keys(here, offer, OFFER, {fault.place for fault in faults})
    if faults:
        return _first_of_each((str(fault.place[-1]), fault.words) for fault in faults)
    return _by_key(wrong_in_offer(offer)) or _by_key(wrong_in_handing_back(offer, months or 0))


def _by_key(wrongs: Wrongs) -> dict[str, str]:
    return _first_of_each((place[-1], words) for place, words in wrongs)


def _first_of_each(faults: Iterable[tuple[str, str]]) -> dict[str, str]:
    """The first that is said of each key, in order."""
    words_by_key: dict[str, str] = {}
    for key, words in faults:
        words_by_key.setdefault(key, words)
    return words_by_key


def wrong_in_use(use: Values) -> Wrongs:
    """What is wrong in ``[use]``."""
    if use.get("private_miles_per_year", 0) > use.get("miles_per_year", 0):
        yield ("private_miles_per_year",), "is more than the miles of the whole year"
    months = use.get("months", 0)
    late = [chance.month for chance in use.get("leaving", ()) if chance.month >= months]
    if late:
        one = "nobody can leave a comparison of one month early"
        many = f"has month {late[0]}, but one may leave early only after months 1 to {months - 1}"
        yield ("leaving",), many if months > 1 else f"makes no sense: {one}"


def wrong_in_running(running: Values) -> Wrongs:
    """What is wrong in ``[running]``, or in an offer's own table."""
    if all(key in running for key in FUEL_KEYS):
        yield (FUEL_KEYS[1],), f"is told twice: remove it, or {FUEL_KEYS[0]}"


def wrong_in_offer(offer: Values) -> Wrongs:
    """What is wrong in one ``[[offer]]`` by itself."""
    kind = AGREEMENT_KINDS[offer["kind"]]
    missing = [key for key in kind.needed_when_offered if key not in offer]
    for key in missing:
        yield (key,), f"is missing: {kind.one} needs it"
    refused = [key for key in offer if why_refused(kind.name, key)]
    for key in refused:
        yield (key,), f"makes no sense for {kind.one}: {why_refused(kind.name, key)}"
    for place, words in wrong_in_running(offer.get("running", {})):
        yield ("running", *place), words
    if not missing and not refused:
        yield from _wrong_in_sums(offer, {key: likely(value) for key, value in offer.items()})


def _wrong_in_sums(offer: Values, plan: Mapping[str, Any]) -> Wrongs:
    """What is wrong between the sums of an offer that are planned on, each of a range the likely one."""
    kind = AGREEMENT_KINDS[offer["kind"]]
    if kind.is_credit:
        yield from _wrong_in_credit(plan)
    if kind.becomes_own:
        told_now = "value_now" in plan
        if not plan.get("value_now", plan["price"]) and plan.get("value_at_horizon"):
            why = "a car that is worth nothing at the start can’t be worth anything at the end"
            yield ("value_now" if told_now else "value_at_horizon",), f"makes no sense: {why}"


def _wrong_in_credit(plan: Mapping[str, Any]) -> Wrongs:
    lent = plan["price"] - plan.get("deposit", 0)
    if lent <= 0:
        yield ("deposit",), "leaves nothing to borrow: it must be less than the price"
        return
    paid = plan["payment"] * plan["payments"] + plan.get("fees", 0) + plan.get("final_payment", 0)
    if paid < lent:
        short = f"come to {pence_as_pounds(paid)}, less than the {pence_as_pounds(lent)} that is lent"
        yield ("payment",), f"is too little: with fees and final payment all payments {short}"
    if plan.get("on_leaving") == "half_rule" and not plan.get("half_rule", lent <= MOST_PROTECTED_CREDIT):
        why = "the agreement gives no such right"
        if "half_rule" not in plan:
            most = pence_as_pounds(MOST_PROTECTED_CREDIT)
            why = f"more than {most} is lent; if the agreement gives that right, say half_rule = true"
        yield ("on_leaving",), f"cannot be half_rule: {why}"


def wrong_in_handing_back(offer: Values, months: int) -> Wrongs:
    """A plan to hand a PCP back that leaves no car before ``months`` are over."""
    falling = months * 52 // 12 if offer.get("frequency") == "week" else months
    if offer.get("at_end") == "hand_back" and offer.get("payments", falling) < falling:
        term = f"{offer['payments']} {offer.get('frequency', 'month')}s"
        rest = f"leaves no car for the rest of the {months} months"
        yield (
            ("at_end",),
            f"is handed back after {term}, which {rest}: keep it, sell it, or compare over a shorter time",
        )


def wrong_in_what_if(change: Values, months: int) -> Wrongs:
    """What is wrong in one ``[[what_if]]`` of a comparison over so many months."""
    compared = "month" if months == 1 else f"{months} months"
    if change.get("leave_at_month", 0) > months:
        yield ("leave_at_month",), f"is after the {compared} compared"
    if change.get("more_miles", 0) <= -1:
        yield ("more_miles",), "leaves no miles at all"


def _missing(tables: Tables, faulty: Collection[KeyPath]) -> Iterator[DocumentFault]:
    """The tables and keys that must be there and aren't, unless what is there is ``faulty``."""
    for name, keys in TABLES.items():
        required = [key.name for key in keys if key.required]
        if (
            required
            and not by_name(tables)[name]
            and (name,) not in faulty
            and not any(place[0] == name for place in faulty)
        ):
            yield DocumentFault((name,), f"is missing: write [{name}] with {', '.join(required)}")
        elif (name,) not in faulty:
            yield from _missing_keys((name,), by_name(tables)[name], keys, faulty)
    for name, keys in LISTS.items():
        for index, row in enumerate(by_name(tables)[name]):
            yield from _missing_keys((name, index), row, keys, faulty)
    if not tables["offer"] and ("offer",) not in faulty:
        yield DocumentFault(("offer",), "there are none: write at least one [[offer]]")


def _missing_keys(
    place: KeyPath, values: Values, keys: Iterable[Key], faulty: Collection[KeyPath]
) -> Iterator[DocumentFault]:
    for key in keys:
        if key.required and key.name not in values and not {place, (*place, key.name)} & {*faulty}:
            yield DocumentFault((*place, key.name), "is missing")


def _wrong_together(tables: Tables, found: Iterable[DocumentFault]) -> Iterator[DocumentFault]:
    """Check each value against the others, except in tables that have a fault of their own among those ``found``."""
    faulty = {fault.place[:length] for fault in found for length in (1, 2)}

    def sound(name: str) -> list[tuple[int, Values]]:
        return [(index, row) for index, row in enumerate(by_name(tables)[name]) if (name, index) not in faulty]

    names = [offer.get("name") for offer in tables["offer"]]
    wrongs: list[tuple[KeyPath, Wrongs]] = []
    for index, offer in sound("offer"):
        if names[index] in names[:index]:
            yield DocumentFault(("offer", index, "name"), f"“{names[index]}” is already the name of another offer")
        wrongs.append((("offer", index), wrong_in_offer(offer)))
    if ("use",) not in faulty:
        wrongs.append((("use",), wrong_in_use(tables["use"])))
        months = tables["use"]["months"]
        wrongs += [(("what_if", index), wrong_in_what_if(change, months)) for index, change in sound("what_if")]
        longest = longest_of(months, [row for _, row in sound("uncertain")])
        wrongs += [(("offer", index), wrong_in_handing_back(offer, longest)) for index, offer in sound("offer")]
    if ("running",) not in faulty:
        wrongs.append((("running",), wrong_in_running(tables["running"])))
    for place, wrong in wrongs:
        yield from (DocumentFault((*place, *inside), words) for inside, words in wrong)
    yield from (DocumentFault(place, words) for place, words in too_many_ranges(tables))
    if ("offer",) not in faulty:
        for index, key, words in wrong_in_ranges(tables, sound("uncertain")):
            yield DocumentFault(("uncertain", index, key), words)
