"""What is asked of a car when it is entered, and who is to keep it."""

from collections.abc import Sequence
from datetime import date
from typing import Any, cast

from django import forms

from config.fields import DayField, MilesField, put_today
from fleet.models import FuelKind, Transmission
from instructors.models import Member

_CHOOSE = {"required": "Choose one."}


class KeeperField(forms.ChoiceField):
    """One of the members, as the member itself."""

    def __init__(self, **options: Any) -> None:
        super().__init__(error_messages=_CHOOSE | {"invalid_choice": "Choose one of the members."}, **options)
        self.members: dict[str, Member] = {}

    def offer(self, members: Sequence[Member]) -> None:
        """Let one of ``members`` be chosen."""
        self.members = {str(member.pk): member for member in members}
        self.choices = [
            ("", "Choose…"),
            *((pk, f"{member.name}, {member.email}") for pk, member in self.members.items()),
        ]

    def clean(self, value: Any) -> Member:
        """The member."""
        return self.members[super().clean(value)]


class CarForm(forms.Form):
    """A car that is new to the book. ``cleaned_data`` has the arguments of the action that enters it."""

    registration = forms.CharField(
        label="Registration mark",
        max_length=12,
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}),
        error_messages={"required": "Write the mark as on the plate."},
        help_text="As on the plate; spaces do not matter.",
    )
    description = forms.CharField(
        label="Description", max_length=120, required=False, help_text="Such as: blue hatchback."
    )
    keeper = KeeperField(label="Kept by")
    fuel = forms.ChoiceField(label="Fuel", choices=[("", "Choose…"), *FuelKind.choices], error_messages=_CHOOSE)
    transmission = forms.ChoiceField(label="Gearbox", choices=Transmission.choices, widget=forms.RadioSelect)
    first_registered = DayField(
        label="First registered on",
        required=False,
        help_text="On its log book. The day of the first MOT follows from it.",
    )
    in_service_from = DayField(label="In use for lessons from", may_be_ahead=True)
    odometer = MilesField(
        label="Odometer on that day", required=False, help_text="Of a day to come: what it shows today."
    )
    dual_controls = forms.BooleanField(label="Dual controls are fitted", required=False)
    soft_top = forms.BooleanField(label="It is a soft top", required=False)

    def __init__(self, data: Any = None, *, today: date, keepers: Sequence[Member] = ()) -> None:
        start = {"transmission": Transmission.MANUAL, "in_service_from": today}
        super().__init__(data, initial=start, label_suffix="")
        put_today(self.fields, today)
        if keepers:
            cast(KeeperField, self.fields["keeper"]).offer(keepers)
        else:
            del self.fields["keeper"]


class HandOnForm(forms.Form):
    """Who is to keep a car from now on."""

    keeper = KeeperField(label="Kept from now on by")

    def __init__(self, data: Any = None, *, keepers: Sequence[Member]) -> None:
        super().__init__(data, label_suffix="")
        cast(KeeperField, self.fields["keeper"]).offer(keepers)
