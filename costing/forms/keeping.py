"""The assumptions under which a car is kept, where a member would put in others."""

from fractions import Fraction
from typing import Any

from django import forms

from config import quantities
from config.fields import NumberField, PoundsField, with_unit
from costing.core.money import to_pence
from costing.offers.keeping import Assumed


class KeepingForm(forms.Form):
    """Repairs, how they rise and what the car loses; what is left empty is taken from the records."""

    repairs = PoundsField(label="Repairs in the coming year", required=False, example="480.00")
    rise = with_unit(NumberField(quantities.YEARLY_RISE, label="Dearer each year by", required=False), "%")
    loss = with_unit(NumberField(quantities.KEPT_LOSS, label="Value lost in a year", required=False), "%")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, label_suffix="")

    def assumed(self) -> Assumed:
        """What was typed in, as far as it can be read."""
        data = getattr(self, "cleaned_data", {})
        repairs, rise, loss = (data.get(name) for name in ("repairs", "rise", "loss"))
        return Assumed(
            None if repairs is None else to_pence(repairs),
            None if rise is None else Fraction(rise) / 100,
            None if loss is None else Fraction(loss) / 100,
        )
