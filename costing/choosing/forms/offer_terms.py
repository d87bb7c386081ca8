"""An offer, begun and then filled in step by step."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from config.fields import put_today, unmarked
from config.showing import month, pence_as_pounds, whole
from costing.choosing.forms.comparisons import as_typed, filled_in, put_faults
from costing.choosing.forms.offer_steps import STEPS, Step, fields_of, first_registered
from costing.choosing.services.stored import faults_of_offer, from_json, offer_table
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.money import to_pence
from costing.models import Comparison, Offer
from fleet.core.days import add_months


class OfferAddForm(forms.Form):
    """How the member would have the car, a name for the offer, and the car's age.

    Once the form is valid, ``terms`` are the terms known so far.
    """

    kind = forms.ChoiceField(
        label="How would you have the car?",
        choices=[(kind.name, f"{kind.words}. {kind.explanation}") for kind in AGREEMENT_KINDS.values()],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one."},
    )
    name = forms.CharField(
        label="A name for this offer", max_length=80, help_text="Such as “three-year-old hatchback on PCP”."
    )

    first_registered = first_registered()

    def __init__(self, data: Any = None, *, today: date) -> None:
        super().__init__(data, label_suffix="")
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """Keep the terms apart from the name and kind."""
        self.terms = filled_in(self.cleaned_data, ["first_registered"])
        return self.cleaned_data


class OfferTermsForm(forms.Form):
    """One step of an offer.

    Once the form is valid, ``terms`` are all terms so far, and ``is_complete`` says whether they are enough.
    """

    def __init__(self, data: Any = None, *, offer: Offer, step: Step, today: date) -> None:
        before = offer_table(offer)
        super().__init__(data, label_suffix="")
        self.offer, self.before = offer, before
        self.asked = step.asks(offer.kind)
        if step is STEPS[0]:
            self.fields["name"] = forms.CharField(label="A name for this offer", max_length=80)
        self.fields.update(fields_of(step, offer.kind))
        self.initial = as_typed(self.fields, {**_usual(offer.kind), **before, **_rule_fields(before.get("early_exit"))})
        if "value_at_horizon" in self.fields:
            self.fields["value_at_horizon"].help_text = _value_words(offer.comparison)
        if "mileage_allowance" in self.fields and (miles := _planned_miles(offer)):
            self.fields[
                "mileage_allowance"
            ].help_text = f"You plan {whole(int(miles))}. Leave it empty if there is no limit."
        if "payments" in self.fields and AGREEMENT_KINDS[offer.kind].usual_frequency == "week":
            self.fields["payments"].help_text += _rolling_words(offer.comparison)
        for field in self.fields.values():
            if field.help_text:  # the hint says what an empty field means
                unmarked(field)
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """Check all terms so far by the document's own rules. Only faults of this step are shown here."""
        data = self.cleaned_data
        answers = filled_in(data, [name for name in self.asked if not name.startswith("early_exit")])
        if rule := self._early_exit(data):
            answers["early_exit"] = rule
        others = {key: value for key, value in self.before.items() if key not in {*self.asked, "name", "kind"}}
        if "early_exit_kind" in self.asked:
            others.pop("early_exit", None)
        self.terms = {**others, **answers}
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
                self.add_error("early_exit_value", "Fill in how many.")
            return None
        if kind == "weeks":
            return {"kind": kind, "value": value}
        if value > 100:
            self.add_error("early_exit_value", "A share must be between 0 and 100 %.")
            return None
        return {"kind": kind, "value": value / 100}


def step_with(offer: Offer) -> Step | None:
    """The first step with something missing or wrong; None if the offer is complete."""
    if offer.is_complete:
        return None
    faults = faults_of_offer(offer.comparison, offer_table(offer))
    return next((step for step in STEPS if faults.keys() & {*AGREEMENT_KINDS[offer.kind].asks(step.name)}), STEPS[0])


def excess_words(offer: Offer) -> str:
    """What the planned miles above the allowance cost a year; "" without an allowance or planned miles."""
    miles, terms = _planned_miles(offer), offer_table(offer)
    allowed, pence = terms.get("mileage_allowance"), terms.get("excess_pence_per_mile", 0)
    if miles is None or allowed is None:
        return ""
    planned = f"You plan {whole(int(miles))} miles a year; {whole(int(allowed))} are allowed"
    over = miles - allowed
    if over <= 0:
        return f"{planned}, so there are no extra miles to pay for."
    if not pence:
        return f"{planned}. That is {whole(int(over))} too many, and you haven’t filled in what each costs."
    cost = pence_as_pounds(to_pence(Decimal(over * pence) / 100))
    # Only somebody who hands the car back pays for extra miles.
    when = " if you hand it back" if AGREEMENT_KINDS[offer.kind].has_choice_of_end else ""
    return f"{planned}. At {Decimal(pence).normalize():f}p each, the other {whole(int(over))} cost {cost} a year{when}."


def _planned_miles(offer: Offer) -> Any:
    return from_json("use", offer.comparison.use).get("miles_per_year")


def _usual(kind: str) -> dict[str, str]:
    """What is chosen to begin with."""
    return {"frequency": AGREEMENT_KINDS[kind].usual_frequency, "at_end": "sell"}


def _rule_fields(rule: Mapping[str, Any] | None) -> dict[str, Any]:
    """The values of the two fields for an early exit; a share is typed in per cent."""
    if rule is None:
        return {"early_exit_kind": ""}
    value = Decimal(rule["value"])
    return {
        "early_exit_kind": rule["kind"],
        "early_exit_value": value * 100 if rule["kind"] == "share_of_remaining" else value,
    }


def _value_words(comparison: Comparison) -> str:
    use = from_json("use", comparison.use)
    if "starts_on" not in use or "months" not in use:
        return "What you could sell it for at the end of the plan."
    return (
        f"What you could sell it for in {month(add_months(use['starts_on'], use['months']))}, at the end of the plan."
    )


def _rolling_words(comparison: Comparison) -> str:
    months = comparison.use.get("months")
    return f" If it simply rolls on, put {months * 52 // 12}: the weeks in {months} months." if months else ""
