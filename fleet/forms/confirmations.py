"""The form of the readiness page."""

from collections.abc import Mapping
from datetime import date
from typing import Any, NamedTuple

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BoundField

from config.fields import DayField, put_today, unmarked
from config.showing import day
from fleet.core.findings import Answer
from fleet.core.requirements import ANSWER_DAYS, ASKED, How

#: In the order they are asked, most frequent first.
_GROUPS = {
    How.LOOKED_AT: (
        "Look again before every test",
        f"For a test, an answer counts for {ANSWER_DAYS[How.LOOKED_AT]} days.",
    ),
    How.POLICY: (
        "In the insurance policy",
        f"An answer counts for {ANSWER_DAYS[How.POLICY]} days: look again at each renewal.",
    ),
    How.FITTED: ("The car and what is fitted to it", "An answer counts until you give another."),
}
_YES, _NO = "yes", "no"


class Group(NamedTuple):
    """Points asked together, and how long an answer counts."""

    title: str
    counts: str
    fields: list[BoundField]


class ConfirmationForm(forms.Form):
    """Yes, no or no answer for each point, as found on one day."""

    confirmed_on = DayField(label="Day you looked")

    def __init__(self, data: Any = None, *, answers: Mapping[str, Answer], today: date) -> None:
        super().__init__(data, initial={"confirmed_on": today}, label_suffix="")
        put_today(self.fields, today)
        for point in ASKED.values():
            self.fields[point.name] = unmarked(
                forms.ChoiceField(
                    label=point.words,
                    help_text=_last(answers.get(point.name)),
                    choices=[(_YES, "Yes"), (_NO, "No"), ("", "Leave as it is")],
                    widget=forms.RadioSelect,
                    initial="",
                    required=False,
                )
            )

    @property
    def groups(self) -> list[Group]:
        """The points as they are asked."""
        return [
            Group(title, counts, [self[point.name] for point in ASKED.values() if point.how is how])
            for how, (title, counts) in _GROUPS.items()
        ]

    def clean(self) -> dict[str, Any]:
        """``confirmed_on``, and ``answers`` by point."""
        said = {name: self.cleaned_data[name] == _YES for name in ASKED if self.cleaned_data.get(name)}
        if not said and not self.errors:
            raise ValidationError("Answer at least one point with yes or no.", code="empty")
        return {"confirmed_on": self.cleaned_data.get("confirmed_on"), "answers": said}


def _last(answer: Answer | None) -> str:
    return f"So far: {_YES if answer.is_met else _NO}, on {day(answer.on)}." if answer else "Not answered yet."
