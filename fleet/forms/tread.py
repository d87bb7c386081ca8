"""The forms about tyres: tread by wheel, new tyres, and which tyre went where."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from django import forms
from django.forms import BoundField
from django.urls import reverse

from config import asking, quantities
from config.fields import DayField, Link, MilesField, NumberField, put_today, unmarked
from fleet.actions.tread import Depths
from fleet.core.plausible import tread
from fleet.core.plausible.doubt import Doubt
from fleet.core.plausible.tread import ACROSS, field_of
from fleet.forms.odometer import OdometerForm
from fleet.models import Car, Wheel
from fleet.queries.plausible import tread_limits
from fleet.wording.doubts import TREAD_DOUBTS

#: What may be typed: the point is often left out, which is asked about.
_TYPED = quantities.TREAD.within(most=999)
_WRONG = {"least": f"This is less than 0: it must be between 0 and {quantities.TREAD.most} mm."}
_STAYS, _NEW = "stays", "new"


class WheelFields(NamedTuple):
    """The fields of one wheel, for the template that lays out all four."""

    wheel: str
    words: str
    fields: list[tuple[str, BoundField]]


class TreadForm(OdometerForm):
    """The tread of some or all wheels on one day. A single figure counts for the whole width of its tyre."""

    day_field = "read_on"
    made_fields = [field_of(wheel, part) for wheel in Wheel.values for part in ACROSS]
    doubt_words = {**OdometerForm.doubt_words, **TREAD_DOUBTS, **{f"={name}": f"{{{name}}} mm" for name in made_fields}}

    read_on = DayField(label="Day")
    odometer = MilesField(label="Odometer on that day", required=False)

    def __init__(self, data: Any = None, *, car: Car, today: date) -> None:
        super().__init__(data, initial={"read_on": today}, label_suffix="")
        self.car = car
        #: By wheel, the depths as typed.
        self._typed: dict[str, dict[str, Decimal]] = {}
        for wheel, words in Wheel.choices:
            for part in ACROSS:
                depth = NumberField(_TYPED, label=f"{words}, {part}", required=False, error_messages=_WRONG)
                self.fields[field_of(wheel, part)] = depth
        self.fields["odometer"].help_text = "Without the mileage, wear cannot be worked out."
        put_today(self.fields, today)

    def wheels(self) -> list[WheelFields]:
        """The wheels as seen from above: front before rear, left before right."""
        return [
            WheelFields(wheel, words, [(part.capitalize(), self[field_of(wheel, part)]) for part in ACROSS])
            for wheel, words in Wheel.choices
        ]

    def clean(self) -> dict[str, Any]:
        """The day, the odometer, and as ``wheels`` the three depths of each wheel that was read."""
        data = self.cleaned_data
        wheels = {wheel: depths for wheel in Wheel.values if (depths := self._depths_of(wheel))}
        if not wheels and not self.errors:
            self.add_error(None, "Enter the tread of at least one wheel.")
        return {"read_on": data.get("read_on"), "odometer": data.get("odometer"), "wheels": wheels}

    def doubts(self) -> Iterable[Doubt]:
        """What the odometer can hardly have shown, and the tread that no tyre of this car can have."""
        yield from super().doubts()
        data = self.cleaned_data
        limits = tread_limits(self.by, self.car, data["read_on"], data["odometer"], self.today)
        for wheel in data["wheels"]:
            typed = {name: int(10 * depth) for name, depth in self._typed[wheel].items()}
            yield from tread.doubts(wheel, typed, limits)

    def link_of(self, doubt: asking.Doubt) -> Link | None:
        """Tread that grew is that of another tyre."""
        if doubt.reason != "tread_grows":
            return None
        return Link(reverse("fleet:tyres-replaced", args=[self.car.registration]), "New tyres were fitted")

    def _depths_of(self, wheel: str) -> Depths | None:
        names = [field_of(wheel, part) for part in ACROSS]
        if self.errors.keys() & set(names):
            return None
        typed = {name: depth for name in names if (depth := self.cleaned_data.get(name)) is not None}
        if len(typed) == 2:
            [empty] = set(names) - typed.keys()
            self.add_error(empty, "Enter all three, or only the lowest.")
        if not typed or len(typed) == 2:
            return None
        self._typed[wheel] = typed
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
