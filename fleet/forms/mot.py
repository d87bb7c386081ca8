"""What is asked about an MOT test: the paper's day and what it advises, or what the car failed for."""

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
    """A pass: until when the certificate runs, and what the tester advised."""

    as_on_paper = forms.BooleanField(label="The certificate really says so", required=False)
    advisories = LinesField(label="Advisories")
    minor = LinesField(label="Minor items", help_text="One a line. They want repair soon.")

    def next_day_hint(self, proposed: date | None) -> str:
        """Where the proposal comes from, and when the rule itself is in doubt."""
        hint = (
            "Compare it with the certificate. The rule gives this day for a pass today; left as it is, it follows "
            "the day of the test."
        )
        if self.item.due_on and is_window_in_doubt(self.item.due_on):
            hint += " No official example settles the 29th to the 31st: the certificate does."
        return hint

    @property
    def asks_whether_so(self) -> bool:
        """Whether the day typed lies outside the rule, so that the page asks to have it confirmed."""
        return bool(self["as_on_paper"].value()) or self.has_error("next_due_on", "beyond_rule")

    def clean(self) -> dict[str, Any]:
        """What ``record_mot_pass`` takes; a day that no rule gives has to be confirmed."""
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
                f"By the rule a pass on {day(tested_on)} runs until a day from {day(least)} to {day(most)}. Look at "
                "the certificate again; if it really says so, tick the box below."
            )
            self.add_error("next_due_on", ValidationError(words, code="beyond_rule"))


class MotFailForm(BillFields):
    """A failure: what was found, as it stands on the paper, one a line."""

    field_order = ("ref", "tested_on", "dangerous", "major", "minor", "odometer", "amount", "picture")

    tested_on = DayField(label="Day of the test")
    dangerous = unmarked(
        LinesField(label="Dangerous", help_text="One a line. Until repaired, the car must not be driven.")
    )
    major = unmarked(LinesField(label="Major"))
    minor = LinesField(label="Minor items and advisories")
    odometer = MilesField(label="Odometer then", required=False)

    def __init__(self, data: Any = None, files: Any = None, *, today: date, asks_cost: bool) -> None:
        super().__init__(data, files, initial={"tested_on": today}, label_suffix="")
        del self.fields["covers_miles"]
        if not asks_cost:
            del self.fields["amount"]
        self.fields["picture"].help_text = "Kept with the gravest item; your coordinators see it too."
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """What ``record_mot_failure`` takes."""
        data = self.cleaned_data
        if not {"dangerous", "major"} & set(self.errors) and not (data.get("dangerous") or data.get("major")):
            self.add_error("major", "A test is failed for something: write down at least one dangerous or major item.")
        findings = {
            Severity.DANGEROUS: data.get("dangerous", []),
            Severity.BEFORE_NEXT_LESSON: data.get("major", []),
            Severity.WATCH: data.get("minor", []),
        }
        names = ("ref", "tested_on", "odometer", "picture")
        return {name: data.get(name) for name in names} | {"findings": findings, "bill": self.bill()}
