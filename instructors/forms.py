"""The forms of the people pages and the co-op's settings, cleaned to what the actions take."""

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password

from config import quantities
from config.fields import DayField, EmailField, MilesField, NumberField, on_one_line, with_unit
from instructors.models import (
    CLOSING_DAY,
    CONTRIBUTORS,
    REMINDER_HOUR,
    ROUNDING_CHOICES,
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
    """The fields that an invitation and a member share."""

    name = forms.CharField(
        max_length=150, validators=[on_one_line], widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    grade = forms.ChoiceField(choices=Grade, widget=forms.RadioSelect, initial=Grade.ADI)
    role = forms.ChoiceField(
        choices=Role,
        widget=forms.RadioSelect,
        initial=Role.MEMBER,
        help_text="A coordinator also looks after the members and every car's due dates. "
        "Neither role shows what another member spends.",
    )


class InviteForm(PersonForm):
    """The person a coordinator invites."""

    email = EmailField(
        label="E-mail address",
        help_text="The invitation goes here, and they will sign in with this address.",
    )
    field_order = ["name", "email", "grade", "role"]


class MemberForm(PersonForm):
    """What a coordinator may correct about a member; it asks when they joined only if the book does not know."""

    joined_on = DayField(
        label="Joined on",
        required=False,
        may_be_ahead=True,
        help_text="Today or later. It cannot be changed afterwards: it decides from when they count in the group's "
        "figures.",
    )
    field_order = ["name", "grade", "role", "joined_on"]

    def __init__(self, data: Any = None, *, initial: dict[str, Any], asks_joining: bool) -> None:
        super().__init__(data, initial=initial)
        if not asks_joining:
            del self.fields["joined_on"]


class AddressForm(forms.Form):
    """The new address that a member wants to sign in with."""

    email = EmailField(
        label="New e-mail address",
        autocomplete="email",
        help_text="We will send a code there. Nothing changes until you type it in.",
    )


class AddressCodeForm(forms.Form):
    """The code that was sent to the new address."""

    code = forms.CharField(
        max_length=20,
        widget=forms.TextInput(
            attrs={"autocomplete": "one-time-code", "autocapitalize": "characters", "spellcheck": "false"}
        ),
    )


class AcceptForm(forms.Form):
    """The name and password of somebody who accepts an invitation."""

    name = forms.CharField(
        label="Your name",
        max_length=150,
        validators=[on_one_line],
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    password = forms.CharField(
        label="Choose a password",
        strip=False,
        help_text=f"{RULES} If you forget it, you can sign in with a code sent to your e-mail address.",
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
    """The co-op's settings. The yearly loss of value is typed as a percentage and cleaned to a share."""

    name = forms.CharField(
        label="Name of the co-op",
        max_length=150,
        validators=[on_one_line],
        error_messages=_NEEDED,
    )
    nation = forms.ChoiceField(
        choices=Nation,
        widget=forms.RadioSelect,
        error_messages=_CHOOSE,
        help_text="A car's first MOT is due after three years in Great Britain and after four in Northern Ireland.",
    )
    reminder_hour = with_unit(
        NumberField(
            REMINDER_HOUR,
            label="Reminders go out at",
            help_text="A whole hour from 4 to 23, UK time. 7 is seven in the morning.",
            error_messages=_NEEDED
            | {"least": "Choose an hour from 4 to 23. Earlier than that, a clock change could send reminders twice."},
        ),
        "o’clock",
    )
    minimum_contributors = with_unit(
        NumberField(
            CONTRIBUTORS,
            label="Members needed",
            help_text="How many must contribute before the group's figures are shown. Five or more.",
            error_messages=_NEEDED
            | {"least": "This must be five or more: a median of fewer could give away one member's costs."},
        ),
        "or more",
    )
    closing_day = with_unit(
        NumberField(
            CLOSING_DAY,
            error_messages=_NEEDED,
            label="Closing day",
            help_text="The day of the next month when a month's figures are worked out, from "
            f"{CLOSING_DAY.least} to {CLOSING_DAY.most}.",
        ),
        "of the month",
    )
    rounding = forms.TypedChoiceField(
        label="Round to the nearest",
        choices=ROUNDING_CHOICES,
        coerce=int,
        widget=forms.RadioSelect,
        error_messages=_CHOOSE,
    )
    depreciation_percent = with_unit(
        NumberField(
            quantities.YEARLY_LOSS_PERCENT,
            error_messages=_NEEDED,
            label="Yearly loss of value",
            help_text="From a car's last valuation on, until there is a newer one. Always marked as an estimate.",
        ),
        "%",
    )
    tyre_life_miles = MilesField(
        quantities.TYRE_MILES,
        error_messages=_NEEDED,
        label="A set of tyres lasts",
        help_text="Filled in for members when they log tyres. They can change it there.",
    )
    coordinators_need_second_factor = forms.BooleanField(
        label="Coordinators need a second step to sign in",
        required=False,
        help_text="A passkey, or a code from an app on their phone.",
    )
    rent_or_own_is_open = forms.BooleanField(
        label="Anybody may ask “Rent or your own?”",
        required=False,
        help_text="A page for two quotes. It needs no account, keeps nothing, and shows no figure of yours.",
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        percent = cleaned.pop("depreciation_percent", None)
        if percent is not None:
            cleaned["depreciation_rate"] = percent / 100
        return cleaned


class ErasureForm(forms.Form):
    """The name of the member who is to be erased, typed again."""

    typed = forms.CharField(
        max_length=150, widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "words"})
    )

    def __init__(self, data: Any = None, *, name: str) -> None:
        super().__init__(data, label_suffix="")
        self.name = name
        self.fields["typed"].label = f"Type the name: {name}"

    def clean_typed(self) -> str:
        """Case and spaces do not count."""
        typed: str = self.cleaned_data["typed"]
        if typed.casefold().split() != self.name.casefold().split():
            raise forms.ValidationError(f"This is not the name. Type {self.name} if you are certain.")
        return typed
