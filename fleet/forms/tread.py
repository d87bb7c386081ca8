"""The forms about tyres: tread by wheel, new tyres, and which tyre went where."""

from datetime import date
from typing import Any, NamedTuple

from django import forms
from django.forms import BoundField

from config import quantities
from config.fields import DayField, MilesField, NumberField, put_today, unmarked
from fleet.actions.tread import Depths
from fleet.models import Wheel

_ACROSS = ("inner", "centre", "outer")
_STAYS, _NEW = "stays", "new"


class WheelFields(NamedTuple):
    """The fields of one wheel, for the template that lays out all four."""

    wheel: str
    words: str
    fields: list[tuple[str, BoundField]]


class TreadForm(forms.Form):
    """The tread of some or all wheels on one day. A single figure counts for the whole width of its tyre."""

    read_on = DayField(label="Day")
    odometer = MilesField(label="Odometer on that day", required=False)

    def __init__(self, data: Any = None, *, today: date) -> None:
        super().__init__(data, initial={"read_on": today}, label_suffix="")
        for wheel, words in Wheel.choices:
            for part in _ACROSS:
                self.fields[f"{wheel}_{part}"] = NumberField(quantities.TREAD, label=f"{words}, {part}", required=False)
        self.fields["odometer"].help_text = "Without the mileage, wear cannot be worked out."
        put_today(self.fields, today)

    def wheels(self) -> list[WheelFields]:
        """The wheels as seen from above: front before rear, left before right."""
        return [
            WheelFields(wheel, words, [(part.capitalize(), self[f"{wheel}_{part}"]) for part in _ACROSS])
            for wheel, words in Wheel.choices
        ]

    def clean(self) -> dict[str, Any]:
        """The day, the odometer, and as ``wheels`` the three depths of each wheel that was read."""
        data = self.cleaned_data
        wheels = {wheel: depths for wheel in Wheel.values if (depths := self._depths_of(wheel))}
        if not wheels and not self.errors:
            self.add_error(None, "Enter the tread of at least one wheel.")
        return {"read_on": data.get("read_on"), "odometer": data.get("odometer"), "wheels": wheels}

    def _depths_of(self, wheel: str) -> Depths | None:
        names = [f"{wheel}_{part}" for part in _ACROSS]
        if self.errors.keys() & set(names):
            return None
        typed = {name: depth for name in names if (depth := self.cleaned_data.get(name)) is not None}
        if len(typed) == 2:
            [empty] = set(names) - typed.keys()
            self.add_error(empty, "Enter all three, or only the lowest.")
        if not typed or len(typed) == 2:
            return None
        inner, centre, outer = list(typed.values()) * (3 // len(typed))
        return inner, centre, outer


class NewTyresForm(forms.Form):
    """At which wheels new tyres were fitted."""

    moved_on = DayField(label="Day")
    wheels = forms.MultipleChoiceField(
        label="New tyres at",
        choices=Wheel.choices,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose the wheels that got new tyres."},
    )

    def __init__(self, data: Any = None, *, today: date) -> None:
        super().__init__(data, initial={"moved_on": today}, label_suffix="")
        put_today(self.fields, today)


def _swapped(*pairs: tuple[str, str]) -> dict[str, str]:
    """The moves that swap the tyres of each pair of wheels."""
    return {wheel: other for pair in pairs for wheel, other in (pair, pair[::-1])}


#: The usual rotations; the tyre's maker and the handbook say which one it allows.
_PATTERNS = {
    "front_with_rear": (
        "Front with rear, each on its side",
        _swapped((Wheel.FRONT_LEFT, Wheel.REAR_LEFT), (Wheel.FRONT_RIGHT, Wheel.REAR_RIGHT)),
    ),
    "crosswise": (
        "Crosswise, front with rear of the other side",
        _swapped((Wheel.FRONT_LEFT, Wheel.REAR_RIGHT), (Wheel.FRONT_RIGHT, Wheel.REAR_LEFT)),
    ),
}
_EACH = "each"


class RotationForm(forms.Form):
    """Which tyre went where: by a usual pattern, or wheel by wheel."""

    moved_on = DayField(label="Day")
    pattern = forms.ChoiceField(
        label="How they were moved",
        choices=[(name, words) for name, (words, _) in _PATTERNS.items()] + [(_EACH, "Another way, wheel by wheel")],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose how they were moved."},
    )

    def __init__(self, data: Any = None, *, today: date) -> None:
        super().__init__(data, initial={"moved_on": today}, label_suffix="")
        for wheel, words in Wheel.choices:
            others = [(other, f"From {label.lower()}") for other, label in Wheel.choices if other != wheel]
            self.fields[wheel] = unmarked(
                forms.ChoiceField(
                    label=f"Tyre now at {words.lower()}",
                    choices=[(_STAYS, "Stayed where it was"), *others, (_NEW, "A new tyre")],
                    initial=_STAYS,
                    required=False,
                )
            )
        put_today(self.fields, today)

    def wheels(self) -> list[BoundField]:
        """Where the tyre at each wheel came from, for the wheel-by-wheel way."""
        return [self[wheel] for wheel in Wheel.values]

    @property
    def goes_by_wheel(self) -> bool:
        return self["pattern"].value() == _EACH

    def clean(self) -> dict[str, Any]:
        """The day, and as ``moves`` the wheel each tyre came from, empty for a new one."""
        data = self.cleaned_data
        moves: dict[str, str] = {}
        if data.get("pattern") == _EACH:
            chosen = {wheel: data.get(wheel) or _STAYS for wheel in Wheel.values}
            moves = {wheel: "" if how == _NEW else how for wheel, how in chosen.items() if how != _STAYS}
        elif data.get("pattern"):
            moves = _PATTERNS[data["pattern"]][1]
        return {"moved_on": data.get("moved_on"), "moves": moves}
