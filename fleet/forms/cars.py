"""The forms to enter a car, correct it, hand it over, and read its odometer."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any, cast

from django import forms

from config import quantities
from config.asking import AskingForm
from config.fields import DayField, MilesField, NumberField, QuantityField, put_today
from fleet.core import registration
from fleet.core.plausible import reading
from fleet.core.plausible.doubt import Doubt
from fleet.forms.odometer import OdometerForm
from fleet.models import Car, FuelKind, OdometerReading, Transmission
from fleet.wording.doubts import ODOMETER_DOUBTS
from instructors.models import Member

_CHOOSE = {"required": "Choose one."}


class KeeperField(forms.ChoiceField):
    """One of the members, as the member itself."""

    def __init__(self, **options: Any) -> None:
        super().__init__(error_messages=_CHOOSE | {"invalid_choice": "Choose one of the members."}, **options)
        self.members: dict[str, Member] = {}

    def offer(self, members: Sequence[Member]) -> None:
        """Offer these members as choices; a single one is chosen already."""
        self.members = {str(member.pk): member for member in members}
        self.choices = [
            ("", "Choose…"),
            *((pk, f"{member.name}, {member.email}") for pk, member in self.members.items()),
        ]
        if len(members) == 1:
            self.initial = members[0].pk

    def clean(self, value: Any) -> Member:
        """The member."""
        return self.members[super().clean(value)]


class RegisteredKeeperField(forms.ChoiceField):
    """One of some members, as the member itself; None for anybody who is none."""

    def __init__(self, **options: Any) -> None:
        super().__init__(error_messages={"invalid_choice": "Choose one of the members."}, **options)
        self.members: dict[str, Member] = {}

    def offer(self, members: Mapping[Member, str]) -> None:
        """Offer these members under these names."""
        self.members = {str(member.pk): member for member in members}
        names = [(str(member.pk), name) for member, name in members.items()]
        self.choices = [("", "No member"), *names]

    def clean(self, value: Any) -> Member | None:
        """The member, or None."""
        return self.members.get(super().clean(value))


class DetailsForm(forms.Form):
    """The details of a car, asked for when it is entered or corrected."""

    registration = QuantityField(
        registration.read,
        label="Registration mark",
        max_length=12,
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}),
        error_messages={"required": "Write it as on the number plate."},
        help_text="As on the plate; spaces do not matter.",
    )
    description = forms.CharField(
        label="Description", max_length=120, required=False, help_text="Such as: blue hatchback."
    )
    fuel = forms.ChoiceField(label="Fuel", choices=[("", "Choose…"), *FuelKind.choices], error_messages=_CHOOSE)
    transmission = forms.ChoiceField(label="Gearbox", choices=Transmission.choices, widget=forms.RadioSelect)
    first_registered = DayField(
        label="First registered on",
        required=False,
        help_text="In the log book. It gives the day of the first MOT: leave it empty for a car first used abroad.",
    )
    dual_controls = forms.BooleanField(label="Dual controls are fitted", required=False)
    soft_top = forms.BooleanField(label="Soft top", required=False)


class CarForm(DetailsForm, AskingForm):
    """A car that is new to the book. ``cleaned_data`` has the arguments of the action that enters it."""

    doubt_words = {
        **ODOMETER_DOUBTS,
        "odometer_far_new": "{miles:whole} miles on a car first registered on {since:date}?",
    }

    keeper = KeeperField(label="Kept by")
    in_service_from = DayField(label="In use for lessons from", may_be_ahead=True)
    odometer = MilesField(
        label="Odometer on that day", required=False, help_text="If that day is still to come, what it shows today."
    )
    field_order = [
        *("registration", "description", "keeper", "fuel", "transmission", "first_registered"),
        *("in_service_from", "odometer", "dual_controls", "soft_top"),
    ]

    def __init__(self, data: Any = None, *, today: date, keepers: Sequence[Member] = ()) -> None:
        self.today = today
        start = {"transmission": Transmission.MANUAL, "in_service_from": today}
        super().__init__(data, initial=start, label_suffix="")
        put_today(self.fields, today)
        if keepers:
            cast(KeeperField, self.fields["keeper"]).offer(keepers)
        else:
            del self.fields["keeper"]

    def doubts(self) -> Iterable[Doubt]:
        """What a car of its age can hardly have run."""
        data, on = self.cleaned_data, min(self.cleaned_data["in_service_from"], self.today)
        if data["odometer"] is None:
            return ()
        first = data["first_registered"]
        limits = reading.limits_when_new(first if first and first < on else None, self.today)
        typed = {"odometer": data["odometer"], "in_service_from": on.isoformat()}
        return reading.doubts(typed, limits, "odometer", "in_service_from", day_is_set=True)


class CarCorrectForm(DetailsForm):
    """The details of a car, to be corrected. ``cleaned_data`` has the arguments of ``correct_car``."""

    co2_g_km = NumberField(
        quantities.CO2,
        label="CO2 in g/km",
        required=False,
        help_text="In the log book. Needed only for the tax return.",
    )
    registered_keeper = RegisteredKeeperField(
        label="Registered keeper",
        required=False,
        help_text="Whom the log book names, if that is a member.",
    )

    def __init__(self, data: Any = None, *, car: Car, today: date, members: Mapping[Member, str]) -> None:
        kept = {name: getattr(car, name) for name in self.base_fields}
        kept["registered_keeper"] = car.registered_keeper_id
        super().__init__(data, initial=kept | {"registration": registration.show(car.registration)}, label_suffix="")
        cast(RegisteredKeeperField, self.fields["registered_keeper"]).offer(members)
        put_today(self.fields, today)


class ServiceForm(OdometerForm):
    """The days on which a car is in use for lessons, both included; the last one may be open."""

    day_field = "in_service_to"

    in_service_from = DayField(label="In use for lessons from", may_be_ahead=True)
    in_service_to = DayField(
        label="Last day in use",
        required=False,
        may_be_ahead=True,
        help_text="Leave it empty while the car is in use. Nothing falls due on it after this day.",
    )
    odometer = MilesField(
        label="Odometer then", required=False, help_text="On its last day in use, once that day has come."
    )

    def __init__(self, data: Any = None, *, car: Car, today: date) -> None:
        kept = {"in_service_from": car.in_service_from, "in_service_to": car.in_service_to}
        super().__init__(data, initial=kept, label_suffix="")
        put_today(self.fields, today)


class HandOverForm(OdometerForm):
    """Who takes a car over, on which day, with how many miles. ``cleaned_data`` has arguments of ``hand_over``."""

    day_field = "on"

    keeper = KeeperField(label="Who takes it")
    on = DayField(label="Handed over on", help_text="Still the former keeper's day. The new keeper's begin after it.")
    odometer = MilesField(label="Odometer then", help_text="Both need it: one's miles end here, the other's begin.")

    def __init__(self, data: Any = None, *, keepers: Sequence[Member], today: date) -> None:
        super().__init__(data, initial={"on": today}, label_suffix="")
        cast(KeeperField, self.fields["keeper"]).offer(keepers)
        put_today(self.fields, today)


class ReadingForm(OdometerForm):
    """What the odometer showed at the end of one day."""

    odometer_field, day_field = "miles", "read_on"

    miles = MilesField(label="Odometer")
    read_on = DayField(label="Day")

    def __init__(self, data: Any = None, *, today: date) -> None:
        super().__init__(data, initial={"read_on": today}, label_suffix="")
        self.fields["miles"].widget.attrs["autofocus"] = True  # with today set, it is all there is to type
        put_today(self.fields, today)


class ReadingCorrectForm(OdometerForm):
    """The correct reading of a day."""

    odometer_field, day_field = "miles", "read_on"

    miles = MilesField(label="Odometer")

    def __init__(self, data: Any = None, *, kept: OdometerReading) -> None:
        super().__init__(data, initial={"miles": kept.miles}, label_suffix="")
        self._read_on = kept.read_on

    @property
    def day_of_reading(self) -> date:
        """The day, which stays as it is."""
        return self._read_on
