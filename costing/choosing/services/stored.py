"""A stored comparison and the offers document that it stands for. In JSON, decimals and days are text."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from costing.choosing.core.case import Offer as Terms
from costing.choosing.document.checks import Unreadable
from costing.choosing.document.reading import Document, read_document, read_table
from costing.choosing.document.schema import LISTS, TABLES, Key
from costing.choosing.services.finding import complete_offers_of
from costing.models import Comparison, Offer
from instructors.queries import cooperative


def document_of(comparison: Comparison) -> Document:
    """The document that a comparison and its complete offers make. Raises Unreadable with every fault."""
    return read_document(tables_of(comparison), nation=cooperative().nation)


def tables_of(comparison: Comparison) -> dict[str, Any]:
    """The tables of the document, as far as they are filled in; offers that aren't complete are left out."""
    offers = [offer_table(offer) for offer in complete_offers_of(comparison)]
    names = [offer["name"] for offer in offers]
    uncertain = [from_json("uncertain", row) for row in comparison.uncertain]
    return {
        "use": from_json("use", comparison.use),
        "running": from_json("running", comparison.running),
        "offer": offers,
        "what_if": [from_json("what_if", row) for row in comparison.what_ifs if _is_within(row, comparison.use)],
        "uncertain": [row for row in uncertain if not row.get("offer") or row["offer"] in names],
    }


def _is_within(what_if: Mapping[str, Any], use: Mapping[str, Any]) -> bool:
    """Whether an event falls within the horizon, which may have been moved since the event was entered."""
    months, spell = use.get("months", 0), what_if.get("weeks_off") or {}
    return what_if.get("leave_at_month", 0) <= months and spell.get("from_week", 0) <= months * 52 // 12


def offer_table(offer: Offer) -> dict[str, Any]:
    """One ``[[offer]]`` of the document."""
    return {"name": offer.name, "kind": offer.kind, **from_json("offer", offer.terms)}


def terms_of(offer: Offer) -> Terms:
    """The terms of an offer as quoted. Raises Unreadable if something is missing or wrong."""
    return Terms(**read_table("offer", offer_table(offer), ("offer", 0)))


def faults_of_offer(comparison: Comparison, offer: Mapping[str, Any]) -> dict[str, str]:
    """What is wrong with one offer, by key: on its own, and over the comparison's months. Empty if it is complete."""
    try:
        read_table("offer", offer, ())
    except Unreadable as error:
        return {str(fault.place[0]): fault.words for fault in error.faults}
    use, running = from_json("use", comparison.use), from_json("running", comparison.running)
    try:
        read_document({"use": use, "running": running, "offer": [offer]})
    except Unreadable as error:
        return {str(fault.place[-1]): fault.words for fault in error.faults if fault.place[0] == "offer"}
    return {}


def from_json(table: str, values: Mapping[str, Any]) -> dict[str, Any]:
    """The values of one table out of JSON. Text that is no number or day stays text, for the reader to refuse."""
    keys = {key.name: key for key in {**TABLES, **LISTS}[table]}
    return {name: _out_of_text(keys.get(name), value) for name, value in values.items()}


def to_json(values: Mapping[str, Any]) -> dict[str, Any]:
    """The values of one table for JSON."""
    return {name: _as_text(value) for name, value in values.items()}


def _out_of_text(key: Key | None, value: Any) -> Any:
    if key is None or key.sort == "plain":
        return value
    if isinstance(value, list):
        return [_out_of_text(key, one) for one in value]
    if isinstance(value, dict):  # a rule: its kind is a word and its value the number
        return {name: one if name == "kind" else _out_of_text(key, one) for name, one in value.items()}
    if not isinstance(value, str):
        return value
    try:
        return date.fromisoformat(value) if key.sort == "day" else Decimal(value)
    except (ValueError, InvalidOperation):
        return value


def _as_text(value: Any) -> Any:
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {name: _as_text(one) for name, one in value.items()}
    if isinstance(value, Iterable) and not isinstance(value, str):
        return [_as_text(one) for one in value]
    return value
