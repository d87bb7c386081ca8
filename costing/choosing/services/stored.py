"""A stored comparison and the offers document that it stands for."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from costing.choosing.core.case import Case
from costing.choosing.core.case import Offer as Terms
from costing.choosing.document.case_making import case_made_of, offer_made_of
from costing.choosing.document.checks import DocumentFault, Unreadable
from costing.choosing.document.keys import Values
from costing.choosing.document.reading import checked, faults_in_offer, typed_tables
from costing.choosing.document.schema import Tables
from costing.choosing.document.writing import from_json, rows_from_json
from costing.choosing.services.finding import offers_of
from costing.models import Comparison, Offer
from instructors.queries import cooperative


class Stored(NamedTuple):
    """A stored comparison as it was read: its typed tables, with the offers that can be compared.

    ``compared`` has these, in order; ``left_out`` what is wrong with each other offer, by its id and then by key; and
    ``faults`` what is wrong besides.
    """

    tables: Tables
    compared: list[Offer]
    left_out: dict[int, dict[str, str]]
    faults: list[DocumentFault]


def stored_of(comparison: Comparison) -> Stored:
    """Read a comparison as far as it is filled in.

    An offer with a fault is left out, and so are the ranges of its figures and what happens after the horizon.
    """
    rows = offers_of(comparison)
    faults: list[DocumentFault] = []
    read = typed_tables(_document_of(comparison, rows), faults)
    months = read["use"].get("months")
    sound: list[Values] = []
    left_out: dict[int, dict[str, str]] = {}
    for index, (row, offer) in enumerate(zip(rows, read["offer"], strict=True)):
        if wrong := faults_in_offer(offer, index, faults, months):
            left_out[row.pk] = wrong
        else:
            sound.append(offer)
    compared = [row for row in rows if row.pk not in left_out]
    names = {row.name for row in compared}
    tables = Tables(
        use=read["use"],
        running=read["running"],
        offer=sound,
        what_if=[change for change in read["what_if"] if change.get("leave_at_month", 0) <= (months or 0)],
        uncertain=[row for row in read["uncertain"] if "offer" not in row or row["offer"] in names],
    )
    return Stored(tables, compared, left_out, [fault for fault in faults if fault.place[0] != "offer"])


def tables_of(comparison: Comparison) -> Tables:
    """The typed tables of a comparison that can be worked out. Raises Unreadable with every fault."""
    read = stored_of(comparison)
    return checked(read.tables, read.faults)


def case_of(comparison: Comparison) -> Case:
    """The case that a comparison makes. Raises Unreadable with every fault."""
    return case_made_of(tables_of(comparison), cooperative().nation)


def told_of(offer: Offer) -> tuple[Values, dict[str, str]]:
    """The typed values of an offer, as far as they can be read, and what is wrong with it, by key."""
    faults: list[DocumentFault] = []
    read = typed_tables(_document_of(offer.comparison, [offer]), faults)
    values = read["offer"][0]
    return values, faults_in_offer(values, 0, faults, read["use"].get("months"))


def offer_of(offer: Offer) -> Terms:
    """The terms of an offer as quoted. Raises Unreadable if something is missing or wrong."""
    values, faults = told_of(offer)
    if faults:
        raise Unreadable([DocumentFault(("offer", offer.position, key), words) for key, words in faults.items()])
    return offer_made_of(values)


def _document_of(comparison: Comparison, offers: Sequence[Offer]) -> Mapping[str, Any]:
    """The comparison with these of its offers as a document has it, still to be read."""
    return {
        "use": from_json("use", comparison.use),
        "running": from_json("running", comparison.running),
        "offer": [_offer_table(offer) for offer in offers],
        "what_if": rows_from_json("what_if", comparison.what_ifs),
        "uncertain": rows_from_json("uncertain", comparison.uncertain),
    }


def _offer_table(offer: Offer) -> dict[str, Any]:
    # Terms that are no table tell nothing.
    terms = from_json("offer", offer.terms) if isinstance(offer.terms, Mapping) else {}
    return {"name": offer.name, "kind": offer.kind, **terms}
