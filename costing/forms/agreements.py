"""How a member holds a car, and what it is worth."""

from datetime import date
from typing import Any

from django import forms

from config import quantities
from config.fields import DayField, MilesField, NumberField, PoundsField, put_today, unmarked, with_unit
from costing.core.catalogue.agreements import AGREEMENT_CHOICES, AGREEMENT_KINDS, OWNED
from costing.models import Agreement, PaymentFrequency, Valuation


def _pounds(label: str, help_text: str = "") -> PoundsField:
    return PoundsField(quantities.POUNDS, label=label, help_text=help_text, required=False, example="11,800")


class AgreementForm(forms.Form):
    """How the member holds a car from one day on. ``cleaned_data`` has the fields of `Agreement`."""

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

    def __init__(self, data: Any = None, *, today: date, agreement: Agreement | None = None) -> None:
        initial = {name: getattr(agreement, name) for name in self.base_fields} if agreement else {}
        super().__init__(data, initial={"frequency": PaymentFrequency.MONTH} | initial, label_suffix="")
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """Ask for the terms that the true cost of this kind of agreement needs."""
        data = self.cleaned_data
        kind = AGREEMENT_KINDS.get(data.get("kind", ""))
        for name in kind.needs if kind else ():
            if data.get(name) is None and name not in self.errors:
                self.add_error(name, "Fill this in: the true cost cannot be worked out without it.")
        if kind and kind.is_credit and not self.errors:
            self._check_credit()
        if not data.get("payment"):
            data["frequency"] = ""
        elif not data.get("frequency"):
            self.add_error("frequency", "Say whether payments are monthly or weekly.")
        return data

    def _check_credit(self) -> None:
        data = self.cleaned_data
        borrowed = data["price"] - (data["deposit"] or 0)
        repaid = data["payment"] * data["payments"] + (data["final_payment"] or 0) + (data["fees"] or 0)
        if borrowed <= 0:
            self.add_error(
                "deposit", f"The deposit is as high as the price, so nothing is borrowed: choose “{OWNED.words}”."
            )
        elif repaid < borrowed:
            self.add_error("payments", "All the payments come to less than was borrowed: check the figures.")


class ValuationForm(forms.Form):
    """What a car was worth at the end of one day."""

    valued_on = DayField(label="Day")
    value = PoundsField(
        quantities.POUNDS,
        label="Worth on that day",
        example="7,900",
        help_text="What you could sell it for as it is.",
    )

    def __init__(self, data: Any = None, *, today: date, valuation: Valuation | None = None) -> None:
        initial = {"valued_on": today}
        if valuation:
            initial = {name: getattr(valuation, name) for name in self.base_fields}
        super().__init__(data, initial=initial, label_suffix="")
        put_today(self.fields, today)
