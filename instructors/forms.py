"""What the people pages ask for, cleaned to what the actions take."""

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password

from config import quantities
from config.fields import DayField, EmailField, MilesField, NumberField, on_one_line, with_unit
from instructors.models import (
    CLOSING_DAY,
    CONTRIBUTORS,
    REMINDER_HOUR,
    ROUNDINGS,
    Grade,
    Invitation,
    Member,
    Nation,
    Role,
)
from instructors.signing_in.passwords import RULES

_CHOOSE = {"required": "Choose one."}
_NEEDED = {"required": "This cannot be left empty."}


class PersonForm(forms.Form):
    """What an invitation and a member have in common."""

    name = forms.CharField(
        max_length=150, validators=[on_one_line], widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    grade = forms.ChoiceField(choices=Grade, widget=forms.RadioSelect, initial=Grade.ADI)
    role = forms.ChoiceField(
        choices=Role,
        widget=forms.RadioSelect,
        initial=Role.MEMBER,
        help_text="A coordinator also looks after the due dates of all cars and after the people. "
        "Neither sees what another member spends.",
    )


class InviteForm(PersonForm):
    """Whom a coordinator invites."""

    email = EmailField(
        label="E-mail address",
        help_text="The invitation goes to this address, and it will be the one to sign in with.",
    )
    field_order = ["name", "email", "grade", "role"]


class MemberForm(PersonForm):
    """What a coordinator may correct about a member; a day of joining is asked for only where none is known."""

    joined_on = DayField(
        label="Joined on",
        required=False,
        may_be_ahead=True,
        help_text="Today or a day ahead. It stays for good: standing in the group's figures rests on it.",
    )
    field_order = ["name", "grade", "role", "joined_on"]

    def __init__(self, data: Any = None, *, initial: dict[str, Any], asks_joining: bool) -> None:
        super().__init__(data, initial=initial)
        if not asks_joining:
            del self.fields["joined_on"]


class LeavingForm(forms.Form):
    """The last day of somebody who leaves; it may lie ahead."""

    left_on = DayField(label="Last day as a member", may_be_ahead=True)


class AddressForm(forms.Form):
    """The address that a member wants to sign in with."""

    email = EmailField(
        label="New e-mail address",
        autocomplete="email",
        help_text="We send a code there. Until you have typed it in, nothing changes.",
    )


class AddressCodeForm(forms.Form):
    """The code that was sent to it."""

    code = forms.CharField(
        max_length=20,
        widget=forms.TextInput(
            attrs={"autocomplete": "one-time-code", "autocapitalize": "characters", "spellcheck": "false"}
        ),
    )


class AcceptForm(forms.Form):
    """Name and password of somebody who accepts an invitation."""

    name = forms.CharField(
        label="Your name",
        max_length=150,
        validators=[on_one_line],
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    password = forms.CharField(
        label="Choose a password",
        strip=False,
        help_text=f"{RULES} If you ever forget it, you can sign in with a code sent to your e-mail address.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, data: Any = None, *, invitation: Invitation) -> None:
        super().__init__(data, initial={"name": invitation.name})
        self.invitation = invitation

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        validate_password(password, Member(email=self.invitation.email, name=self.cleaned_data.get("name", "")))
        return password


class SettingsForm(forms.Form):
    """The co-op's settings; the depreciation rate is asked for in per cent and cleaned to a share."""

    name = forms.CharField(
        label="Name of the co-operative",
        max_length=150,
        validators=[on_one_line],
        error_messages=_NEEDED,
    )
    nation = forms.ChoiceField(
        choices=Nation,
        widget=forms.RadioSelect,
        error_messages=_CHOOSE,
        help_text="A car's first MOT is due after three years in Great Britain, four in Northern Ireland.",
    )
    reminder_hour = NumberField(
        REMINDER_HOUR,
        label="Hour at which reminders go out",
        help_text="UK time, a whole hour from 4 to 23: 7 is seven in the morning.",
        error_messages=_NEEDED
        | {"least": "Choose an hour from 4 to 23: earlier, a clock change could send reminders twice."},
    )
    minimum_contributors = NumberField(
        CONTRIBUTORS,
        label="Contributors needed before group figures are shown",
        help_text="Five at the least: with fewer, a median could give away what one member spends.",
        error_messages=_NEEDED
        | {"least": "This cannot be below five: a median of fewer could give away one member's costs."},
    )
    closing_day = NumberField(
        CLOSING_DAY,
        error_messages=_NEEDED,
        label="Day of the next month on which a month is closed",
        help_text=f"From {CLOSING_DAY.least} to {CLOSING_DAY.most}: by then its last fills and lessons can be in. "
        "This month's figures still come out on the day that was set before; a change counts from next month's on.",
    )
    rounding = forms.TypedChoiceField(
        label="Group figures are told to the nearest",
        choices=[(pence, f"{pence}p a lesson hour, {pence // 10}p a mile") for pence in ROUNDINGS],
        coerce=int,
        widget=forms.RadioSelect,
        error_messages=_CHOOSE,
        help_text="The coarser, the less can be guessed of one member. A change counts for months closed after it.",
    )
    depreciation_percent = NumberField(
        quantities.YEARLY_LOSS_PERCENT,
        error_messages=_NEEDED,
        label="Yearly loss of value after the last valuation",
        help_text="In per cent of what the car was worth at the start of the year. "
        "Used until a newer valuation is recorded, and always marked as an estimate.",
    )
    tyre_life_miles = MilesField(
        quantities.TYRE_MILES,
        error_messages=_NEEDED,
        label="Miles a set of tyres is taken to last",
        help_text="Filled in when somebody logs tyres; they may change it there.",
    )
    coordinators_need_second_factor = forms.BooleanField(
        label="Coordinators sign in with a second step",
        required=False,
        help_text="A passkey, or a code from an app on their phone. A coordinator without one finds the coordinators' "
        "pages closed until they have set one up; their own records stay open. You will be asked for it too.",
    )

    def __init__(self, data: Any = None, *, initial: dict[str, Any]) -> None:
        super().__init__(data, initial=initial)
        for name, unit in (
            ("minimum_contributors", "members"),
            ("depreciation_percent", "%"),
            ("tyre_life_miles", "miles"),
        ):
            with_unit(self.fields[name], unit)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        percent = cleaned.pop("depreciation_percent", None)
        if percent is not None:
            cleaned["depreciation_rate"] = percent / 100
        return cleaned
