"""What all entry forms share. The same forms log an entry and correct it later."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any, ClassVar, cast
from uuid import uuid4

from django import forms

from config.asking import AskingForm
from config.fields import put_today
from costing.core.plausible.running import DAY_FIELD, doubts_of
from costing.models import Entry
from costing.queries.plausible import limits_of
from fleet.core.plausible.doubt import Doubt, Limits, Meaning, Typed
from fleet.core.registration import show
from fleet.models import Car
from instructors.models import Member


class CarField(forms.ChoiceField):
    """A choice among the member's cars; hidden if there is only one."""

    def __init__(self) -> None:
        super().__init__(label="Car", error_messages={"invalid_choice": "Choose one of your own cars."})
        self.cars: dict[str, Car] = {}

    def offer(self, cars: Sequence[Car]) -> None:
        """Let the member choose among ``cars``, starting with the first."""
        self.cars = {car.registration: car for car in cars}
        self.choices = [(car.registration, show(car.registration)) for car in cars]
        if len(cars) == 1:
            self.widget = self.hidden_widget()
        self.initial = next(iter(self.cars), None)

    def clean(self, value: Any) -> Car:
        """Return the car itself."""
        return self.cars[super().clean(value)]


class EntryForm(AskingForm):
    """What all entry forms share. ``cleaned_data`` has the arguments of the action that logs the entry.

    ``by`` logs it; some of ``cars`` may be somebody else's by now. Without ``entry`` the form logs a new one: it
    carries a reference made with the page, so that sending it twice logs one entry. With ``entry`` it corrects that
    one, whose car and reference stay as they are.
    """

    kind: ClassVar[str]
    model: ClassVar[type[Entry]]

    ref = forms.UUIDField(widget=forms.HiddenInput, error_messages={"invalid": "Reload the page and try again."})
    car = CarField()

    @property
    def figures_template(self) -> str:
        """The rows that are typed: what the pump, the bill or the diary shows."""
        return f"costing/_{self.kind}_figures.html"

    @property
    def set_template(self) -> str:
        """The rows that are usually right as they are set: the car, the day, and what is seldom needed."""
        return f"costing/_{self.kind}_set.html"

    def __init__(
        self,
        data: Any = None,
        files: Any = None,
        *,
        by: Member,
        cars: Sequence[Car],
        today: date,
        entry: Entry | None = None,
    ) -> None:
        self.by, self.today, self.entry = by, today, entry
        self._limits: Limits | None = None
        start = self.initial_of(entry) if entry else {"ref": uuid4()} | self.new_initial(today)
        super().__init__(data, files, initial=start, label_suffix="")
        put_today(self.fields, today)
        for field in self.fields.values():
            # The script of a log page says below its row what is wrong with a figure, or asks.
            field.template_name = "_field_live.html"  # type: ignore[attr-defined]  # Django has it, its stubs do not yet
        if entry:
            del self.fields["ref"], self.fields["car"]
            self.fields.pop("receipt", None)  # its page adds and removes receipts
            self.cars = [entry.car]
        else:
            cast(CarField, self.fields["car"]).offer(cars)
            self.cars = list(cars)

    @staticmethod
    def new_initial(today: date) -> dict[str, Any]:
        """Return what a new form starts with, besides its reference."""
        return {}

    @staticmethod
    def initial_of(entry: Any) -> dict[str, Any]:
        """Return what the form starts with when it corrects ``entry``."""
        raise NotImplementedError

    def put_keys(self, *names: str) -> None:
        """Name the fields that are typed into, in turn: the first is where one begins, the last saves."""
        for name in names:
            self.fields[name].widget.attrs["enterkeyhint"] = "done" if name == names[-1] else "next"
        self.fields[names[0]].widget.attrs["autofocus"] = True

    def put_hints(self) -> None:
        """Set the hints that take queries: called only on a form that is shown."""

    def typed(self, figures: Mapping[str, Any]) -> Typed | None:
        """Return these figures, cleaned or of an entry, as the core takes them that knows what is plausible."""
        raise NotImplementedError

    def doubts(self) -> Iterable[Doubt]:
        """Return what can hardly be right by the member's own records of the car."""
        found = self._doubts_about(self.cleaned_data)
        if self.entry is None or not found:
            return found
        # What a correction leaves as it is was asked, or not, when it was logged.
        was, now = self.typed(self._figures_of(self.entry)) or {}, self.typed(self.cleaned_data) or {}
        changed = {name for name in now if now[name] != was.get(name)}
        return [
            doubt
            for doubt in found
            if changed.intersection(one.field for one in doubt.rests_on)
            or doubt.reason in self.entry.found_right.split()
        ]

    def as_sent(self) -> Typed | None:
        """Return what is typed as the core takes it, although fields refuse it; None if it cannot be read so far."""
        return None

    def meant_instead(self) -> Iterable[Meaning]:
        """Yield what may be meant by what is refused, by the same limits."""
        typed = self.as_sent() if self.chosen_car else None
        for doubt in self._doubts_of(typed) if typed else ():
            yield from doubt.meanings

    def text_of(self, name: str) -> str:
        """Return what is typed in a field."""
        return str(self.data.get(self.add_prefix(name)) or "").strip()

    def answered_before(self) -> Iterable[str]:
        """Return the keys of what the member found right when the entry was saved."""
        entry = self.entry
        if entry is None or not entry.found_right:
            return []
        return [
            doubt.key
            for doubt in self._doubts_about(self._figures_of(entry))
            if doubt.reason in entry.found_right.split()
        ]

    @staticmethod
    def _figures_of(entry: Entry) -> dict[str, Any]:
        return {field.name: getattr(entry, field.name) for field in entry._meta.concrete_fields}

    def _doubts_about(self, figures: Mapping[str, Any]) -> list[Doubt]:
        typed = self.typed(figures) if self.chosen_car else None
        return [] if typed is None else self._doubts_of(typed)

    def _doubts_of(self, typed: Typed) -> list[Doubt]:
        car = cast(Car, self.chosen_car)
        if self._limits is None:
            on = date.fromisoformat(typed[DAY_FIELD[self.kind]])
            self._limits = limits_of(self.kind, self.by, car, self.today, on, self.entry)
        return doubts_of(self.kind, typed, self._limits)

    def clean_ref(self) -> str:
        return str(self.cleaned_data["ref"])

    @property
    def chosen_car(self) -> Car | None:
        """The car of the entry; None until a valid one is chosen."""
        return self.entry.car if self.entry else self.cleaned_data.get("car")
