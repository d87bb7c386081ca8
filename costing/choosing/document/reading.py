"""Reading an offers document: it gives a case, or a list of every fault."""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from config.quantities import Wrong
from costing.choosing.core.case import Case, Offer, Running, Uncertain, Use, WhatIf, scenario
from costing.choosing.core.cash_flow import items_of
from costing.choosing.core.inputs import INPUTS
from costing.choosing.core.payments import ends_inside
from costing.choosing.core.ways_out import CannotBeHandedBack
from costing.choosing.document.checks import CROSS_CHECKS, DocumentFault, Place, Unreadable, cross_field_faults
from costing.choosing.document.schema import LISTS, MOST, TABLES, Key
from costing.core.catalogue.running import AS_ASKED


class Document(NamedTuple):
    """A case, and the keys that were left out, so that their figures count as nothing."""

    case: Case
    assumed: tuple[str, ...]


def read_document(document: Mapping[str, Any], *, nation: str = "GB") -> Document:
    """Read a document for a co-op in ``nation``, which changes figures but no fault.

    Raises Unreadable with every fault.
    """
    faults: list[DocumentFault] = []
    tables = {name: _table(document.get(name), (name,), keys, faults) for name, keys in TABLES.items()}
    lists = {name: _list(document.get(name, []), name, keys, faults) for name, keys in LISTS.items()}
    faults += [
        DocumentFault((name,), _unknown(name, [*TABLES, *LISTS])) for name in document if name not in {*TABLES, *LISTS}
    ]
    if not lists["offer"] and not any(fault.place[0] == "offer" for fault in faults):
        faults.append(DocumentFault(("offer",), "there are none: write at least one [[offer]]"))
    faults += list(cross_field_faults(tables, lists, faults))
    if faults:
        raise Unreadable(faults)
    case = _case(tables, lists, nation)
    faults += _without_a_car(case)
    if faults:
        raise Unreadable(faults)
    return Document(case, tuple(_assumed(document, case)))


def read_table(name: str, values: Any, place: Place) -> dict[str, Any]:
    """Read one table by itself, as a page does. Raises Unreadable."""
    faults: list[DocumentFault] = []
    values_by_key = _table(values, place, {**TABLES, **LISTS}[name], faults)
    if not faults and name in CROSS_CHECKS:
        faults += [DocumentFault((*place, key), words) for key, words in CROSS_CHECKS[name](values_by_key)]
    if faults:
        raise Unreadable(faults)
    return values_by_key


def _table(values: Any, place: Place, keys: tuple[Key, ...], faults: list[DocumentFault]) -> dict[str, Any]:
    """The values of one table by key, with the defaults filled in. Adds what is wrong to ``faults``."""
    if values is None and any(key.required for key in keys):
        faults.append(
            DocumentFault(place, f"is missing: write [{place[0]}] with {', '.join(k.name for k in keys if k.required)}")
        )
        return {}
    if not isinstance(values or {}, Mapping):
        faults.append(DocumentFault(place, f"must be a table: write [{place[0]}]"))
        return {}
    values, values_by_key = values or {}, dict[str, Any]()
    names = [key.name for key in keys]
    faults += [DocumentFault((*place, name), _unknown(name, names)) for name in values if name not in names]
    for key in keys:
        if key.name not in values:
            if key.required:
                faults.append(DocumentFault((*place, key.name), "is missing"))
            values_by_key[key.name] = key.default(values_by_key) if callable(key.default) else key.default
            continue
        try:
            values_by_key[key.name] = key.take(values[key.name])
        except Wrong as wrong:
            faults.append(DocumentFault((*place, key.name), str(wrong)))
    return values_by_key


def _list(rows: Any, name: str, keys: tuple[Key, ...], faults: list[DocumentFault]) -> list[dict[str, Any]]:
    if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
        faults.append(DocumentFault((name,), f"must be a list of tables: write [[{name}]] before each"))
        return []
    if len(rows) > MOST[name]:
        faults.append(DocumentFault((name,), f"there are {len(rows):,}: write [[{name}]] at most {MOST[name]} times"))
        return []
    return [_table(row, (name, index), keys, faults) for index, row in enumerate(rows)]


def _unknown(name: str, known: Sequence[str]) -> str:
    return f"is not known here; the keys are {', '.join(known)}"


def _case(tables: Mapping[str, Any], lists: Mapping[str, Any], nation: str) -> Case:
    return Case(
        Use(**tables["use"], nation=nation),
        Running(**tables["running"]),
        tuple(Offer(**offer) for offer in lists["offer"]),
        tuple(_what_if(change) for change in lists["what_if"]),
        tuple(_uncertain(one) for one in lists["uncertain"]),
    )


def _what_if(change: Mapping[str, Any]) -> WhatIf:
    return WhatIf(
        change["name"],
        change["weeks_off"],
        change["leave_at_month"],
        change["more_miles"],
        change["one_repair"],
        change["damage"],
    )


def _uncertain(one: Mapping[str, Any]) -> Uncertain:
    # The document has pounds where the records have pence.
    times = 100 if INPUTS[one["input"]].unit == "pounds" else 1
    low, likely, high = (Fraction(one[name]) * times for name in ("low", "likely", "high"))
    return Uncertain(one["input"], low, likely, high, one["offer"])


def _without_a_car(case: Case) -> Iterator[DocumentFault]:
    """Offers that leave no car before the horizon, or before the longest time it may stretch to."""
    most = max((round(one.high) for one in case.uncertain if one.input == "months"), default=0)
    longest = scenario(case.use._replace(months=max(most, case.use.months)), case.running)
    for index, offer in enumerate(case.offers):
        try:
            items_of(offer, longest)
        except CannotBeHandedBack as reason:
            yield DocumentFault(("offer", index, "at_end"), str(reason))


def _assumed(document: Mapping[str, Any], case: Case) -> Iterator[str]:
    """The keys that were left out although a figure rests on them."""
    running = document.get("running") or {}
    for part in AS_ASKED:
        if part.key not in running and any(part.name not in offer.includes for offer in case.offers):
            yield f"running, {part.key}"
    for index, offer in enumerate(case.offers):
        written = document["offer"][index]
        if "value_at_horizon" not in written and _may_be_sold(offer, case):
            yield f"offer {index + 1}, value_at_horizon"
        if offer.is_hire and "early_exit" not in written:
            yield f"offer {index + 1}, early_exit"


def _may_be_sold(offer: Offer, case: Case) -> bool:
    """Whether the car may be sold, as planned or by somebody who leaves early."""
    if offer.is_hire or offer.at_end != "hand_back":
        return not offer.is_hire
    leaving = [case.use.months, *(change.leave_at_month for change in case.what_ifs if change.leave_at_month)]
    return not ends_inside(offer, scenario(case.use, case.running, leave_at_month=min(leaving)))
