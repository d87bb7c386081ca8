"""One offer on one page, as a quote has it. What isn't told yet is left out; nothing that was typed is lost."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from functools import cached_property
from typing import Any, NamedTuple

from django import forms
from django.forms import BoundField
from django.http import QueryDict

from config.fields import put_today, unmarked, with_unit
from config.showing import in_words, month
from costing.choosing.document.checks import faults_of_offer
from costing.choosing.document.keys import RUNNING, Values
from costing.choosing.forms.fields import WordField
from costing.choosing.forms.folds import Fold, folds_of, keys_of, names_in, quote_keys, rows_of
from costing.choosing.forms.offer_words import excess_words, source_words
from costing.choosing.forms.quotes import TO_CONFIRM, QuoteField, findings_of, put_questions, unconfirmed
from costing.choosing.forms.several import FUEL_SHARE, fields_of, put_faults, shown, told_in
from costing.choosing.services.starting_figures import Proposal
from costing.core.catalogue.agreements import AGREEMENT_KINDS, AgreementKind
from fleet.core.days import add_months
from fleet.models import FuelKind

_NEEDED = "Without it this offer can’t be compared yet."
#: Choosing the fuel brings what is proposed for it; what one types before the answer arrives stays (app.js).
_SHOW_RUNNING = {"hx-post": "?running", "hx-target": "#running", "hx-swap": "outerHTML", "data-keeps": True}
_LITRES, _KWH = ("mpg", "pence_per_litre"), ("miles_per_kwh", "pence_per_kwh")
#: The fields that tell what its fuel costs by economy, for a car that burns it. Of another one they aren't asked.
_FUEL_FIELDS = {
    FuelKind.PETROL: _LITRES,
    FuelKind.DIESEL: _LITRES,
    FuelKind.HYBRID: _LITRES,
    FuelKind.ELECTRIC: _KWH,
    FuelKind.PLUGIN_HYBRID: (*_LITRES, *_KWH, FUEL_SHARE),
}


def _with_ranges(names: Iterable[str], fields: Iterable[str]) -> list[str]:
    """The ``fields`` that ask for these figures or for the ends of their ranges."""
    return [one for one in fields if one.removesuffix("_low").removesuffix("_high") in names]


class OfferSoFar(NamedTuple):
    """What is told of an offer: typed values as a document has them, its fuel, and where running costs came from.

    ``faults`` says by key what keeps it from being compared.
    """

    values: Values
    burns: str = ""
    sources: Mapping[str, str] = {}
    faults: Mapping[str, str] = {}


class OfferForm(forms.Form):
    """One offer of a kind.

    ``typed`` is what was typed so far where nothing is saved yet: after another kind was chosen or a quote was read.
    Once the form is valid, ``terms`` are its typed values but for its own running costs, which are ``running``;
    ``burns`` is the fuel, and ``missing`` names the fields without which the offer can't be compared.
    """

    def __init__(
        self,
        data: QueryDict | None = None,
        *,
        way: AgreementKind,
        use: Values,
        so_far: OfferSoFar,
        today: date,
        typed: QueryDict | None = None,
    ) -> None:
        super().__init__(data, label_suffix="")
        self.way, self.use, self.so_far = way, use, so_far
        self.typed: Mapping[str, Any] = data or typed or {}
        self.proposed_for = self.typed.get("proposed_for", so_far.burns)
        self._put_fields()
        self._put_initial()
        self._put_words()
        put_today(self.fields, today)
        self.findings = findings_of(str(self.typed.get("quote", "")), self.fields)
        if "read_quote" in self.typed:
            self._fill_in_what_was_found()
        put_questions(self, self.findings, self.typed)
        if not self.typed:
            self._ask_about_faults()

    def _put_fields(self) -> None:
        for key in keys_of(self.way):
            self.fields.update(fields_of(key, kind=self.way.name, with_range=key.name != "price"))
        self.fields["burns"] = WordField(
            dict(FuelKind.choices),
            left_open="I don’t know",
            label="What does it burn?",
            widget=forms.RadioSelect(attrs=_SHOW_RUNNING),
        )
        for key in RUNNING:
            self.fields.update(fields_of(key, with_range=True))
        self.fields["quote"] = QuoteField()
        for name, field in self.fields.items():
            field.required = name == "name"
            unmarked(field)

    def _put_initial(self) -> None:
        values = self.so_far.values
        usual = {"frequency": self.way.usual_frequency, "on_leaving": "cheapest", "burns": self.so_far.burns}
        self.initial = usual | shown(keys_of(self.way), values) | shown(RUNNING, values.get("running", {}))
        if self.typed:
            self.initial = usual | {
                name: field.widget.value_from_datadict(self.typed, {}, name)
                for name, field in self.fields.items()
                if name in self.typed
            }
            before = AGREEMENT_KINDS.get(self.typed.get("kind", ""))
            if before and self.initial["frequency"] == before.usual_frequency:
                self.initial["frequency"] = self.way.usual_frequency
        self._leave_out_other_fuels()

    def _leave_out_other_fuels(self) -> None:
        """Leave out the rows of fuels that the car doesn't burn. A pair with anything in it stays, to be made whole."""
        burns = self.typed.get("burns", self.so_far.burns)
        if burns not in _FUEL_FIELDS:
            return
        rows = {pair: _with_ranges(pair, self.fields) for pair in (_LITRES, _KWH, (FUEL_SHARE,))}
        kept = {pair for pair in rows if {*pair} <= {*_FUEL_FIELDS[burns]} or any(map(self.initial.get, rows[pair]))}
        if {_LITRES, _KWH} <= kept:
            kept.add((FUEL_SHARE,))
        for pair in rows.keys() - kept:
            for name in rows[pair]:
                del self.fields[name]

    def _put_words(self) -> None:
        use = self.use
        if "deposit" in self.fields and self.way.is_hire:
            self.fields["deposit"].help_text = "Paid at the start, on top of the payments."
        if "payments" in self.fields and self.way.is_hire:
            rolls = " If there is no fixed term, write 1: it then goes on from week to week."
            self.fields["payments"].help_text = "Over the term that you would sign for." + (
                rolls if self.way.then == "rolls" else ""
            )
        if "payment" in self.fields and self.way.usual_frequency == "week":
            with_unit(self.fields["payment"], "")
        if "value_at_horizon" in self.fields and {"starts_on", "months"} <= use.keys():
            end = month(add_months(use["starts_on"], use["months"]))
            self.fields["value_at_horizon"].help_text = f"What you could sell it for in {end}, at the end of the plan."
        if "mileage_allowance" in self.fields and (words := excess_words(self.way, self.so_far.values, use)):
            self.fields["mileage_allowance"].help_text = words
        self._put_sources(self.so_far.sources)

    def _put_sources(self, sources: Mapping[str, str]) -> None:
        for name, words in source_words(sources).items():
            if name in self.fields:
                unmarked(self.fields[name]).help_text = words

    def _fill_in_what_was_found(self) -> None:
        """Put what the quote says into the rows that nobody has filled. The book filled in how often one pays."""
        for name, finding in self.findings.items():
            is_untouched = name == "frequency" and self.initial.get(name) == self.way.usual_frequency
            if finding.value and (is_untouched or not self.initial.get(name)):
                self.initial[name] = finding.value

    def _ask_about_faults(self) -> None:
        """Say in its row what keeps the saved offer from being compared."""
        for name, words in self.so_far.faults.items():
            asked = next((one for one in self.fields if one == name or one.startswith(f"{name}_")), None)
            if asked:
                is_missing = name in self.way.needed_when_offered and name not in self.so_far.values
                why = _NEEDED if is_missing else f"This {words}."
                self.fields[asked].asks = why  # type: ignore[attr-defined]  # _field_words.html reads it

    def clean(self) -> dict[str, Any]:
        """Put the offer together and check it by the document's own rules."""
        data, before = self.cleaned_data, self.so_far.values
        told = told_in(self, keys_of(self.way), before)
        self.terms = {key: value for key, value in told.items() if key != "name"}
        self.running = told_in(self, RUNNING, before.get("running"))
        self.burns = data.get("burns") or ""
        self.missing = [name for name in self.way.needed_when_offered if name not in told]
        for name in unconfirmed(self, self.findings, self.typed):
            self.add_error(name, TO_CONFIRM)
        if not self.errors:
            faults = faults_of_offer({**told, "kind": self.way.name, "running": self.running}, self.use.get("months"))
            put_faults(self, {name: words for name, words in faults.items() if name not in self.missing})
        return data

    def show_running(self, told: Values, proposal: Proposal) -> None:
        """Show what is proposed beside what was ``told``, without what of it the proposal has left out.

        What could not be read stays as it was typed.
        """
        for key in RUNNING:
            if key.name in told and key.name not in proposal.running:
                self.initial.update(dict.fromkeys(fields_of(key, with_range=True), ""))
        self.initial.update(shown(RUNNING, proposal.running))
        self._put_sources(proposal.sources)
        self.proposed_for = self.typed.get("burns", "")

    @property
    def ways(self) -> list[AgreementKind]:
        """The kinds to choose among."""
        return list(AGREEMENT_KINDS.values())

    @property
    def as_quoted(self) -> list[BoundField]:
        """The rows that every quote of this kind fills, and the fuel, on which rests what the book can propose."""
        return rows_of(self, ["name", *names_in(quote_keys(self.way)), "burns"])

    @property
    def quote_ranges(self) -> list[BoundField]:
        """The rows of how far these may go."""
        return rows_of(self, names_in(quote_keys(self.way), ranges=True))

    @cached_property
    def folds(self) -> list[Fold]:
        """What a quote may tell besides."""
        folds = folds_of(self, self.way)
        return [
            fold._replace(hidden=(("proposed_for", self.proposed_for),)) if fold.name == "running" else fold
            for fold in folds
        ]

    @property
    def set_aside(self) -> Iterator[tuple[str, str]]:
        """What was typed of another kind, which comes back with that kind."""
        known = {name for way in self.ways for key in keys_of(way) for name in fields_of(key, with_range=True)}
        for name in sorted(known - {*self.fields}):
            if value := self.typed.get(name):
                yield name, value

    @property
    def missing_words(self) -> str:
        """What is still needed before the offer can be compared; "" if nothing is."""
        labels = [self.fields[name].label for name in self.missing]
        return f"To compare it, still fill in: {', '.join(str(label).lower() for label in labels)}." if labels else ""

    @property
    def found_words(self) -> str:
        """How much was found in the text of the quote; "" without a text."""
        if not self.typed.get("quote"):
            return ""
        count = sum(1 for finding in self.findings.values() if finding.value)
        if not self.findings:
            return "Nothing was found that could be read without guessing. Type the figures below."
        return f"{in_words(count).capitalize()} found and filled in. Confirm each below; the text isn’t kept."
