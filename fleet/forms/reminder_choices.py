"""The form about one's own reminders."""

from typing import Any

from django import forms

from config.fields import unmarked
from instructors.models import REMINDER_HOUR


class ReminderChoicesForm(forms.Form):
    """From which hour a member is reminded, and whether about more than the law requires."""

    reminder_hour = unmarked(
        forms.TypedChoiceField(
            label="Send them from",
            coerce=int,
            empty_value=None,
            required=False,
            help_text="UK time. At most one reminder e-mail a day.",
        )
    )
    wants_due_mail = forms.BooleanField(label="E-mail me all that falls due", required=False)
    wants_log_mail = forms.BooleanField(
        label="E-mail me when I have logged nothing for a week",
        help_text="Once a week at most. Only you hear of it.",
        required=False,
    )

    def __init__(self, data: Any = None, *, co_op_hour: int, initial: dict[str, Any]) -> None:
        super().__init__(data, initial=initial, label_suffix="")
        hours = [(hour, f"{hour}:00") for hour in range(int(REMINDER_HOUR.least), int(REMINDER_HOUR.most) + 1)]
        self.fields["reminder_hour"].choices = [("", f"The co-op's, {co_op_hour}:00"), *hours]  # type: ignore[attr-defined]
