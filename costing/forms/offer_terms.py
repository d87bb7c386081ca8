"""An offer, begun and told a step at a time."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from config.fields import put_today, unmarked
from config.showing import month, pence_as_pounds, whole
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.money import to_pence
from costing.forms.choosing import as_typed, put_faults, told_in
from costing.forms.offer_steps import STEPS, Step, fields_of, first_registered
from costing.models import Comparison, Offer
from costing.offers.stored import faults_of_offer, offer_told, told
from fleet.core.days import add_months


class OfferAddForm(forms.Form):
    """The way of getting the car, a name to know the offer by, and the car's age.

    Once valid, ``terms`` are the terms told so far.
    """

    kind = forms.ChoiceField(
        label="How you would have the car",
        choices=[(kind.name, f"{kind.words}. {kind.explanation}") for kind in AGREEMENT_KINDS.values()],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one."},
    )
    name = forms.CharField(
        label="A name to know it by", max_length=80, help_text="Such as: three-year-old hatchback on PCP."
    )

    first_registered = first_registered()

    def __init__(self, data: Any = None, *, today: date) -> None:
        super().__init__(data, label_suffix="")
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """What was told, with the terms apart."""
        self.terms = told_in(self.cleaned_data, ["first_registered"])
        return self.cleaned_data


class OfferTermsForm(forms.Form):
    """One step of an offer.

    Once valid, ``terms`` are all its terms so far, and ``is_complete`` says whether they are enough.
    """

    def __init__(self, data: Any = None, *, offer: Offer, step: Step, today: date) -> None:
        before = offer_told(offer)
        super().__init__(data, label_suffix="")
        self.offer, self.before = offer, before
        self.asked = step.asks(offer.kind)
        if step is STEPS[0]:
            self.fields["name"] = forms.CharField(label="A name to know it by", max_length=80)
        self.fields.update(fields_of(step, offer.kind))
        self.initial = as_typed(self.fields, {**_usual(offer.kind), **before, **_rule_fields(before.get("early_exit"))})
        if "value_at_horizon" in self.fields:
            self.fields["value_at_horizon"].help_text = _value_words(offer.comparison)
        if "mileage_allowance" in self.fields and (miles := _planned_miles(offer)):
            self.fields["mileage_allowance"].help_text = f"You plan {whole(int(miles))}. Left empty: no limit."
        if "payments" in self.fields and AGREEMENT_KINDS[offer.kind].usual_frequency == "week":
            self.fields["payments"].help_text += _rolling_words(offer.comparison)
        for field in self.fields.values():
            if field.help_text:  # which says what an empty field means
                unmarked(field)
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """All the terms so far, by the document's own rules; only those of this step are to be put right here."""
        data = self.cleaned_data
        told_here = told_in(data, [name for name in self.asked if not name.startswith("early_exit")])
        if rule := self._early_exit(data):
            told_here["early_exit"] = rule
        others = {key: value for key, value in self.before.items() if key not in {*self.asked, "name", "kind"}}
        if "early_exit_kind" in self.asked:
            others.pop("early_exit", None)
        self.terms = {**others, **told_here}
        whole_offer = {"name": data.get("name", self.offer.name), "kind": self.offer.kind, **self.terms}
        faults = faults_of_offer(self.offer.comparison, whole_offer)
        self.is_complete = not faults
        put_faults(self, faults.items(), {"early_exit": "early_exit_value"})
        return data

    def _early_exit(self, data: Mapping[str, Any]) -> dict[str, Any] | None:
        kind, value = data.get("early_exit_kind"), data.get("early_exit_value")
        if not kind:
            return None
        if value is None:
            if "early_exit_value" not in self.errors:
                self.add_error("early_exit_value", "Say how many.")
            return None
        if kind == "weeks":
            return {"kind": kind, "value": value}
        if value > 100:
            self.add_error("early_exit_value", "A share of what remains lies between 0 and 100 %.")
            return None
        return {"kind": kind, "value": value / 100}


def step_with(offer: Offer) -> Step | None:
    """The first step at which something is missing or wrong; None for a complete offer."""
    if offer.is_complete:
        return None
    faults = faults_of_offer(offer.comparison, offer_told(offer))
    return next((step for step in STEPS if faults.keys() & {*AGREEMENT_KINDS[offer.kind].asks(step.name)}), STEPS[0])


def excess_words(offer: Offer) -> str:
    """What the planned miles above the allowance cost a year; nothing where none is set or the miles are not known."""
    miles, terms = _planned_miles(offer), offer_told(offer)
    allowed, pence = terms.get("mileage_allowance"), terms.get("excess_pence_per_mile", 0)
    if miles is None or allowed is None:
        return ""
    planned = f"You plan {whole(int(miles))} miles a year; {whole(int(allowed))} are allowed"
    over = miles - allowed
    if over <= 0:
        return f"{planned}: no excess."
    if not pence:
        return f"{planned}: {whole(int(over))} above, and no price for them is given yet."
    cost = pence_as_pounds(to_pence(Decimal(over * pence) / 100))
    # Only who hands a car back pays for its miles.
    when = ", if it is handed back" if AGREEMENT_KINDS[offer.kind].has_choice_of_end else ""
    return f"{planned}: {whole(int(over))} above cost {cost} a year at {Decimal(pence).normalize():f}p each{when}."


def _planned_miles(offer: Offer) -> Any:
    return told("use", offer.comparison.use).get("miles_per_year")


def _usual(kind: str) -> dict[str, str]:
    """What is chosen until somebody chooses otherwise."""
    return {"frequency": AGREEMENT_KINDS[kind].usual_frequency, "at_end": "sell"}


def _rule_fields(rule: Mapping[str, Any] | None) -> dict[str, Any]:
    """The two fields of an early exit; a share is typed in per cent."""
    if rule is None:
        return {"early_exit_kind": ""}
    value = Decimal(rule["value"])
    return {
        "early_exit_kind": rule["kind"],
        "early_exit_value": value * 100 if rule["kind"] == "share_of_remaining" else value,
    }


def _value_words(comparison: Comparison) -> str:
    use = told("use", comparison.use)
    if "starts_on" not in use or "months" not in use:
        return "What you could sell it for when the comparison ends."
    return (
        f"What you could sell it for in {month(add_months(use['starts_on'], use['months']))}, when the comparison ends."
    )


def _rolling_words(comparison: Comparison) -> str:
    months = comparison.use.get("months")
    return f" If it just rolls on: {months * 52 // 12}, the weeks of {months} months." if months else ""
