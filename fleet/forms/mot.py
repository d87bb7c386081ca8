"""The forms about an MOT test: a pass with its advisories, or what the car failed for."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config.fields import DayField, LinesField, MilesField, put_today, unmarked
from config.showing import day
from fleet.core.defects import Severity
from fleet.core.mot import expiry_limits, is_window_in_doubt
from fleet.forms.completions import BillFields, CompletionForm


class MotPassForm(CompletionForm):
    """A pass: the last day of the certificate, and what the tester advised."""

    as_on_paper = forms.BooleanField(label="The certificate does say this", required=False)
    advisories = LinesField(label="Advisories")
    minor = LinesField(label="Minor items", help_text="One per line. Have them repaired soon.")

    def next_day_hint(self, proposed: date | None) -> str:
        """Where the date filled in comes from, and whether the rule itself is in doubt."""
        hint = "Check it against the certificate. Unless you change it, it follows the day of the test."
        if self.item.due_on and is_window_in_doubt(self.item.due_on):
            hint += " From the 29th to the 31st the rule is not settled: go by the certificate."
        return hint

    @property
    def asks_whether_so(self) -> bool:
        """Whether the day entered breaks the rule, so that the page asks for confirmation."""
        return bool(self["as_on_paper"].value()) or self.has_error("next_due_on", "beyond_rule")

    def clean(self) -> dict[str, Any]:
        """What ``record_mot_pass`` takes; a day that breaks the rule has to be confirmed."""
        seen = self.cleaned_data
        tested_on, last_day = seen.get("done_on"), seen.get("next_due_on")
        if tested_on and last_day and "next_due_on" in self.changed_data and not seen.get("as_on_paper"):
            self._check_limits(tested_on, last_day)
        advised = [*seen.get("minor", []), *seen.get("advisories", [])]
        return super().clean() | {"ref": seen.get("ref"), "advised": advised}

    def _check_limits(self, tested_on: date, last_day: date) -> None:
        least, most = expiry_limits(tested_on)
        if not least <= last_day <= most:
            words = (
                f"A pass on {day(tested_on)} should run until a day between {day(least)} and {day(most)}. Check the "
                "certificate again; if it does say this, tick the box below."
            )
            self.add_error("next_due_on", ValidationError(words, code="beyond_rule"))


class MotFailForm(BillFields):
    """A failure: what was found, as on the paper, one a line."""

    day_field = "tested_on"
    field_order = ("ref", "tested_on", "dangerous", "major", "minor", "odometer", "amount", "picture")

    tested_on = DayField(label="Day of the test")
    dangerous = unmarked(
        LinesField(label="Dangerous", help_text="One per line. Until repaired, the car must not be driven.")
    )
    major = unmarked(LinesField(label="Major"))
    minor = LinesField(label="Minor items and advisories")
    odometer = MilesField(label="Odometer on that day", required=False)

    def __init__(self, data: Any = None, files: Any = None, *, today: date, asks_cost: bool) -> None:
        super().__init__(data, files, initial={"tested_on": today}, label_suffix="")
        del self.fields["covers_miles"]
        if not asks_cost:
            del self.fields["amount"]
        self.fields["picture"].help_text = "Kept with the most serious item; your coordinators see it too."
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """What ``record_mot_failure`` takes."""
        data = self.cleaned_data
        if not {"dangerous", "major"} & set(self.errors) and not (data.get("dangerous") or data.get("major")):
            self.add_error("major", "Enter at least one dangerous or major item that the car failed for.")
        findings = {
            Severity.DANGEROUS: data.get("dangerous", []),
            Severity.BEFORE_NEXT_LESSON: data.get("major", []),
            Severity.WATCH: data.get("minor", []),
        }
        names = ("ref", "tested_on", "odometer", "picture")
        return {name: data.get(name) for name in names} | {"findings": findings, "bill": self.bill()}
