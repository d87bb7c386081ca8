"""A stored comparison and the offers document it stands for: as JSON has it, decimals and days are text."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from costing.models import Comparison
from costing.models import Offer as StoredOffer
from costing.offers.faults import Unreadable
from costing.offers.keys import LISTS, TABLES, Key
from costing.offers.reading import Document, read, read_table
from costing.queries.choosing import complete_offers_of
from instructors.queries import cooperative


def document_of(comparison: Comparison) -> Document:
    """The case that a comparison and its complete offers make. Raises Unreadable with every fault."""
    return read(told_by(comparison), nation=cooperative().nation)


def told_by(comparison: Comparison) -> dict[str, Any]:
    """The document in its one form, as far as it is told; offers that are not complete are left out."""
    offers = [offer_told(offer) for offer in complete_offers_of(comparison)]
    names = [offer["name"] for offer in offers]
    uncertain = [told("uncertain", row) for row in comparison.uncertain]
    return {
        "use": told("use", comparison.use),
        "running": told("running", comparison.running),
        "offer": offers,
        "what_if": [told("what_if", row) for row in comparison.what_ifs if _is_within(row, comparison.use)],
        "uncertain": [row for row in uncertain if not row.get("offer") or row["offer"] in names],
    }


def _is_within(what_if: Mapping[str, Any], use: Mapping[str, Any]) -> bool:
    """Whether it comes to pass before the horizon, which may have been moved since it was said."""
    months, spell = use.get("months", 0), what_if.get("weeks_off") or {}
    return what_if.get("leave_at_month", 0) <= months and spell.get("from_week", 0) <= months * 52 // 12


def offer_told(offer: StoredOffer) -> dict[str, Any]:
    """One ``[[offer]]`` of the document."""
    return {"name": offer.name, "kind": offer.kind, **told("offer", offer.terms)}


def faults_of_offer(comparison: Comparison, offer: Mapping[str, Any]) -> dict[str, str]:
    """What is wrong with one offer, by key: by itself, and over the comparison's months. Nothing if it is complete."""
    try:
        read_table("offer", offer, ())
    except Unreadable as error:
        return {str(fault.place[0]): fault.words for fault in error.faults}
    case = {"use": told("use", comparison.use), "running": told("running", comparison.running), "offer": [offer]}
    try:
        read(case)
    except Unreadable as error:
        return {str(fault.place[-1]): fault.words for fault in error.faults if fault.place[0] == "offer"}
    return {}


def told(table: str, kept_values: Mapping[str, Any]) -> dict[str, Any]:
    """The values of one table out of JSON; a text that is no number or day stays as it is, for reading to refuse."""
    keys = {key.name: key for key in {**TABLES, **LISTS}[table]}
    return {name: _out_of_text(keys.get(name), value) for name, value in kept_values.items()}


def kept(values: Mapping[str, Any]) -> dict[str, Any]:
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
