"""Reading an offers document: raw tables in, of a file or of the store, and a case out, or a list of every fault."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any, cast

from config.quantities import Wrong
from costing.choosing.core.case import Case
from costing.choosing.document.case_making import case_made_of
from costing.choosing.document.checks import (
    DocumentFault,
    Place,
    Unreadable,
    Wrongs,
    wrong_in_handing_back,
    wrong_in_offer,
    wrong_in_running,
    wrong_in_use,
    wrong_in_what_if,
)
from costing.choosing.document.keys import Key, Table, Values
from costing.choosing.document.offer_keys import OFFER
from costing.choosing.document.ranges import longest_of, wrong_in_ranges
from costing.choosing.document.schema import LISTS, MOST, TABLES, Tables, by_name


def read_document(document: Mapping[str, Any], nation: str = "GB") -> Case:
    """Read a document for a co-op in ``nation``, which changes figures but no fault.

    Raises Unreadable with every fault.
    """
    return case_made_of(read_tables(document), nation)


def read_tables(document: Mapping[str, Any]) -> Tables:
    """The typed tables of a document. Raises Unreadable with every fault."""
    faults: list[DocumentFault] = []
    return checked(typed_tables(document, faults), faults)


def typed_tables(document: Mapping[str, Any], faults: list[DocumentFault]) -> Tables:
    """The values of a document that can be read, each by itself. Adds what is wrong with the others to ``faults``."""
    tables: dict[str, Any] = {name: _table(document.get(name), (name,), keys, faults) for name, keys in TABLES.items()}
    tables |= {name: _list(document.get(name, []), name, keys, faults) for name, keys in LISTS.items()}
    faults += [DocumentFault((name,), _unknown([*TABLES, *LISTS])) for name in document if name not in tables]
    return cast(Tables, tables)


def case_of(tables: Tables, nation: str = "GB") -> Case:
    """The case that typed tables make. Raises Unreadable if something is missing or doesn't go together."""
    return case_made_of(checked(tables), nation)


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


def _table(values: Any, place: Place, keys: tuple[Key, ...], faults: list[DocumentFault]) -> dict[str, Any]:
    """The typed values of one table, by key. Adds what is wrong to ``faults``."""
    if values is None:
        return {}
    if not isinstance(values, Mapping):
        header = ".".join(part for part in place if isinstance(part, str))
        faults.append(DocumentFault(place, f"must be a table: write [{header}]"))
        return {}
    typed = dict[str, Any]()
    names = [key.name for key in keys]
    faults += [DocumentFault((*place, name), _unknown(names)) for name in values if name not in names]
    for key in keys:
        here = (*place, key.name)
        if key.name not in values:
            continue
        if isinstance(key.shape, Table):
            typed[key.name] = _table(values[key.name], here, key.shape.keys, faults)
        else:
            try:
                typed[key.name] = key.shape_with(typed).take(values[key.name])
            except Wrong as wrong:
                faults.append(DocumentFault(here, str(wrong)))
    return typed


def _list(rows: Any, name: str, keys: tuple[Key, ...], faults: list[DocumentFault]) -> list[dict[str, Any]]:
    if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
        faults.append(DocumentFault((name,), f"must be a list of tables: write [[{name}]] before each"))
        return []
    if len(rows) > MOST[name]:
        faults.append(DocumentFault((name,), f"there are {len(rows):,}: write [[{name}]] at most {MOST[name]} times"))
        return []
    return [_table(row, (name, index), keys, faults) for index, row in enumerate(rows)]


def _unknown(known: Sequence[str]) -> str:
    return f"is not known here; the keys are {', '.join(known)}"


def _missing(tables: Tables, faulty: Collection[Place]) -> Iterator[DocumentFault]:
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
    place: Place, values: Values, keys: Iterable[Key], faulty: Collection[Place]
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
    wrongs: list[tuple[Place, Wrongs]] = []
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
    if ("offer",) not in faulty:
        for index, key, words in wrong_in_ranges(tables, sound("uncertain")):
            yield DocumentFault(("uncertain", index, key), words)
