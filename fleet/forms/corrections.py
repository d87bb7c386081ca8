"""The forms that correct a check or a completion that was entered wrongly."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms

from config.fields import DayField, MilesField, put_today, unmarked
from fleet.core.plausible.doubt import Doubt
from fleet.core.points import POINTS
from fleet.forms.due_items import NOTE
from fleet.forms.odometer import OdometerForm
from fleet.models import Completion, WalkaroundCheck


class CheckCorrectForm(forms.Form):
    """When a check was made, what was looked at after all, and its note. No point can be added."""

    checked_on = DayField(label="Day of the check")
    points = unmarked(forms.MultipleChoiceField(label="Looked at", widget=forms.CheckboxSelectMultiple, required=False))
    note = forms.CharField(label="Note", max_length=500, required=False, widget=NOTE)

    def __init__(self, data: Any = None, *, check: WalkaroundCheck, words: dict[str, str], today: date) -> None:
        kept = {name: getattr(check, name) for name in self.base_fields}
        super().__init__(data, initial=kept, label_suffix="")
        names = {name: POINTS[name].words if name in POINTS else words.get(name, name) for name in check.points}
        points = self.fields["points"]
        assert isinstance(points, forms.MultipleChoiceField)  # noqa: S101 - for the type checker
        points.choices = list(names.items())
        put_today(self.fields, today)


class CompletionCorrectForm(OdometerForm):
    """How an item was met, to be corrected. What was right before is not asked about again."""

    day_field = "done_on"

    done_on = DayField(label="Day done")
    odometer = MilesField(label="Odometer on that day", required=False)
    note = forms.CharField(label="Note", max_length=500, required=False, widget=NOTE)

    def __init__(self, data: Any = None, *, completion: Completion, today: date) -> None:
        kept = {name: getattr(completion, name) for name in ("done_on", "odometer", "note")}
        super().__init__(data, initial=kept, label_suffix="")
        if completion.due_item.car is None:
            del self.fields["odometer"]
        put_today(self.fields, today)

    def doubts(self) -> Iterable[Doubt]:
        """What the odometer can hardly have shown, if anything of that is corrected."""
        return super().doubts() if {"done_on", "odometer"} & set(self.changed_data) else ()

    def clean(self) -> dict[str, Any]:
        """What ``correct_completion`` takes: a credential has no odometer."""
        return {"odometer": None} | self.cleaned_data
