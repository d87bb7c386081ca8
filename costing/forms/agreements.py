"""How a member holds a car, and what it is worth."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms

from config import quantities
from config.asking import AskingForm
from config.fields import DayField, MilesField, NumberField, PoundsField, put_today, unmarked, with_unit
from costing.core.catalogue.agreements import AGREEMENT_CHOICES, AGREEMENT_KINDS
from costing.core.plausible import agreement, typed, valuation
from costing.models import Agreement, PaymentFrequency, Valuation
from costing.queries.plausible import worth_limits
from costing.wording.doubts import AGREEMENT_DOUBTS, VALUATION_DOUBTS
from fleet.core.plausible.doubt import Doubt
from fleet.models import Car
from instructors.models import Member


def _pounds(label: str, help_text: str = "") -> PoundsField:
    return PoundsField(quantities.POUNDS, label=label, help_text=help_text, required=False, example="11,800")


class AgreementForm(AskingForm):
    """How the member holds a car from one day on. ``cleaned_data`` has the fields of `Agreement`."""

    doubt_words = AGREEMENT_DOUBTS

    kind = forms.ChoiceField(
        label="How you hold the car",
        choices=AGREEMENT_CHOICES,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one."},
    )
    starts_on = DayField(label="From", may_be_ahead=True)
    price = unmarked(_pounds("Cash price of the car", "What it costs, or did cost, without credit."))
    deposit = _pounds("Deposit", "Include any part exchange.")
    payment = unmarked(_pounds("Each payment"))
    payments = unmarked(NumberField(quantities.PAYMENTS, label="Number of payments", required=False))
    frequency = forms.ChoiceField(
        label="Payments fall due",
        choices=PaymentFrequency.choices,
        widget=forms.RadioSelect,
        required=False,
    )
    final_payment = _pounds("Final payment", "Due with the last payment if you keep the car.")
    fees = _pounds("Fees", "Due with the first payment.")
    quoted_apr = with_unit(NumberField(quantities.APR, label="APR quoted, in %", required=False), "%")
    mileage_allowance = with_unit(MilesField(label="Miles allowed a year", required=False), "")
    excess_pence_per_mile = NumberField(quantities.EXCESS_PENCE, label="Pence for each mile over that", required=False)

    def __init__(self, data: Any = None, *, today: date, kept: Agreement | None = None) -> None:
        self.today = today
        initial = {name: getattr(kept, name) for name in self.base_fields if hasattr(kept, name)} if kept else {}
        super().__init__(data, initial={"frequency": PaymentFrequency.MONTH} | initial, label_suffix="")
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """Ask for the terms that the true cost of this kind of agreement needs."""
        data = self.cleaned_data
        kind = AGREEMENT_KINDS.get(data.get("kind", ""))
        for name in kind.needs if kind else ():
            if data.get(name) is None and name not in self.errors:
                self.add_error(name, "Fill this in: the true cost cannot be worked out without it.")
        if not data.get("payment"):
            data["frequency"] = ""
        elif not data.get("frequency"):
            self.add_error("frequency", "Say whether payments are monthly or weekly.")
        return data

    def doubts(self) -> Iterable[Doubt]:
        """What of the terms does not go together."""
        return agreement.doubts(typed.agreement(self.cleaned_data))


class ValuationForm(AskingForm):
    """What a car was worth at the end of one day."""

    doubt_words = VALUATION_DOUBTS

    valued_on = DayField(label="Day")
    value = PoundsField(
        quantities.POUNDS,
        label="Worth on that day",
        example="7,900",
        help_text="What you could sell it for as it is.",
    )

    def __init__(self, data: Any = None, *, by: Member, car: Car, today: date, kept: Valuation | None = None) -> None:
        self.by, self.car, self.today, self.kept = by, car, today, kept
        initial = {"valued_on": kept.valued_on, "value": kept.value} if kept else {"valued_on": today}
        super().__init__(data, initial=initial, label_suffix="")
        put_today(self.fields, today)

    def doubts(self) -> Iterable[Doubt]:
        """What the car can hardly be worth by its price and by what it was worth before."""
        limits = worth_limits(self.by, self.car, self.cleaned_data["valued_on"], self.today, self.kept)
        return valuation.doubts(typed.valuation(self.cleaned_data), limits)
