"""Why something that stands out need not be asked about."""

from django import forms

from config.fields import on_one_line
from costing.models import Dismissal


class DismissForm(forms.Form):
    """The member's reason, in a few words."""

    reason = forms.CharField(
        label="Why this need not be looked into",
        max_length=Dismissal._meta.get_field("reason").max_length,
        validators=[on_one_line],
        help_text="For example: on holiday, the car was not used. Only you see it.",
        label_suffix="",
    )
