"""How the page of an offer is laid out: what a quote says first, and the rest in folds whose heads say what is told."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from django import forms
from django.forms import BoundField

from costing.choosing.document.keys import RUNNING, Key, Table
from costing.choosing.document.offer_keys import OFFER, asked_of
from costing.choosing.document.schema import USE
from costing.choosing.forms.several import fields_of
from costing.core.catalogue.agreements import AgreementKind
from costing.core.catalogue.running import AS_ASKED, FUEL

#: What a fold's head calls a term that is told.
_TOLD = {
    "first_registered": "first registered",
    "value_now": "what it fetches now",
    "value_at_horizon": "what it fetches at the end",
    "at_end": "how the term ends",
    "on_leaving": "how you would leave",
    "half_rule": "the half rule",
    "early_exit": "early exit",
    "pauses_when_off": "payments pause",
    "deposit_comes_back": "deposit comes back",
    "then": "what follows the term",
    "includes": "what the payments cover",
    "fuel": FUEL.missing,
    "cash_in_hand": "cash in hand",
    "put_by_per_month": "what you put by",
    "marginal_tax_rate": "tax",
    "discount_rate": "what money earns",
    "leaving": "chances",
    **{part.key: part.missing for part in AS_ASKED},
}
#: A consumer's way out, in the words of the agreement that it stands in. Consumer Credit Act 1974, ss. 99 and 100.
_OF_CREDIT = (
    "Before you leave, ask the lender in writing what settling costs: it may add up to a month’s interest.",
    "By the half rule you may hand the car back once half of the total price is paid, or by paying up to half. "
    "The agreement says so, under “Termination: your rights”. Damage is extra.",
    "If a payment is late, talk to the lender at once: falling behind can cost you the car and your credit record.",
)
_OF_HIRE = (
    "What leaving inside the term costs stands in the contract. Until you tell it here, the book can’t say what an "
    "early end would cost.",
)


_RUNNING_WORDS = (
    "Only what this car itself costs, and only what the price doesn’t include. What you leave empty here is taken from "
    "what is the same for every offer, or else is not told.",
)
RUNNING_HEAD = "What this car costs to run"


class Fold(NamedTuple):
    """One fold of a page: its rows, those of their ranges, and in its head what is told."""

    name: str
    head: str
    fields: list[BoundField]
    ranges: list[BoundField]
    told: str
    notes: tuple[str, ...] = ()
    is_open: bool = False
    hidden: tuple[tuple[str, str], ...] = ()


#: The names of the fields that ask for each key, with those of its range.
_FIELDS = {key.name: tuple(fields_of(key, with_range=True)) for key in (*USE, *OFFER, *RUNNING)}
_ENDS = ("_low", "_high")


def keys_of(way: AgreementKind) -> tuple[Key, ...]:
    """The keys of an offer of this kind that a page asks with fields of their own."""
    return tuple(key for key in asked_of(way.name) if key.name != "kind" and not isinstance(key.shape, Table))


def names_in(keys: Iterable[Key], *, ranges: bool = False) -> list[str]:
    """The names of the fields that ask for these keys: the figures, or the ends of their ranges."""
    return [name for key in keys for name in _FIELDS[key.name] if name.endswith(_ENDS) is ranges]


def quote_keys(way: AgreementKind) -> list[Key]:
    """The keys that every quote of this kind tells, in its order."""
    return _in_order(way, "quote")


def folds_of(form: forms.Form, way: AgreementKind) -> list[Fold]:
    """The folds of an offer's page."""
    leaving = _OF_CREDIT if way.is_credit else _OF_HIRE if way.is_hire else ()
    rows: tuple[tuple[str, str, list[Key], tuple[str, ...]], ...] = (
        ("car", "The car", _in_order(way, "car"), ()),
        ("leaving", "If you leave", _in_order(way, "leaving"), leaving),
        ("included", "What the price includes", _in_order(way, "included"), ()),
        ("running", RUNNING_HEAD, list(RUNNING), _RUNNING_WORDS),
    )
    return [fold_of(form, name, head, keys, notes) for name, head, keys, notes in rows if keys]


def fold_of(
    form: forms.Form,
    name: str,
    head: str,
    keys: Sequence[Key],
    notes: tuple[str, ...] = (),
) -> Fold:
    """One fold that asks for these ``keys``; open where one has to look."""
    rows, ranges = rows_of(form, names_in(keys)), rows_of(form, names_in(keys, ranges=True))
    told = dict.fromkeys(_key_of(row.name, keys) for row in rows if _is_told(row))
    words = ", ".join(_TOLD[key] for key in told if key in _TOLD) or "nothing told yet"
    needs_look = any(
        row.errors or getattr(row.field, "question", None) or getattr(row.field, "asks", "") for row in (*rows, *ranges)
    )
    return Fold(name, head, rows, ranges, words, notes, needs_look)


def rows_of(form: forms.Form, names: Iterable[str]) -> list[BoundField]:
    """The rows of the fields that the form asks."""
    return [form[name] for name in names if name in form.fields]


def _in_order(way: AgreementKind, place: str) -> list[Key]:
    by_name = {key.name: key for key in keys_of(way)}
    return [by_name[name] for name in way.asks(place)]


def _key_of(field: str, keys: Iterable[Key]) -> str:
    return next((key.name for key in keys if field in _FIELDS[key.name]), field)


def _is_told(row: BoundField) -> bool:
    # The cheapest way out is what the book takes if nobody says otherwise.
    return row.value() not in (None, "", [], False, frozenset(), "cheapest")
