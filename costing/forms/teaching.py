"""A record of lessons and hours taught, to be put right."""

from collections.abc import Mapping
from typing import Any

from config import quantities
from config.fields import DayField, HoursField, MilesField, NumberField, unmarked, with_unit
from costing.core.plausible import typed
from costing.forms.entries import EntryForm
from costing.models import TeachingRecord
from costing.wording.doubts import LESSON_DOUBTS
from fleet.core.plausible.doubt import Typed


class TeachingForm(EntryForm):
    """One record of lessons, put right: those of one day or of several. What is left empty is not known."""

    kind, model = "lessons", TeachingRecord
    doubt_words = LESSON_DOUBTS

    lesson_count = unmarked(NumberField(quantities.COUNT, label="Lessons", required=False))
    minutes = unmarked(
        with_unit(HoursField(label="Hours", help_text="For example 6, 7.5 or 7:30.", required=False), "hours")
    )
    from_on = DayField(label="Day")
    to_on = DayField(label="To, if more than one day", required=False)
    private_miles = unmarked(
        MilesField(
            label="Private",
            required=False,
            help_text="Not for lessons, nor between them. Leave empty what you do not know.",
        )
    )

    @staticmethod
    def initial_of(entry: TeachingRecord) -> dict[str, Any]:
        return {
            "lesson_count": entry.lesson_count,
            "minutes": None if entry.minutes is None else hours_as_typed(entry.minutes),
            "from_on": entry.from_on,
            "to_on": entry.to_on if entry.to_on != entry.from_on else None,
            "private_miles": entry.private_miles,
        }

    def typed(self, figures: Mapping[str, Any]) -> Typed:
        return typed.lessons(figures)

    def clean(self) -> dict[str, Any]:
        """Take one day unless a last day is given; check that lessons and hours go together."""
        data = self.cleaned_data
        first = data.get("from_on")
        if "to_on" not in self.errors:
            data["to_on"] = data.get("to_on") or first
        if first and data.get("to_on"):
            if data["to_on"] < first:
                self.add_error("to_on", "The last day is before the first.")
            else:
                self._check_hours((data["to_on"] - first).days + 1)
        return data

    def _check_hours(self, day_count: int) -> None:
        if {"lesson_count", "minutes"} & self.errors.keys():
            return
        data = self.cleaned_data
        lessons, minutes = data.get("lesson_count"), data.get("minutes")
        if lessons is None and minutes is None:
            self.add_error("lesson_count", "Give the lessons or the hours: 0 if there were none.")
        elif lessons and minutes == 0:
            self.add_error("minutes", "You logged lessons: say how many hours they took, or leave it empty.")
        elif minutes and lessons == 0:
            self.add_error("lesson_count", "You logged hours: say how many lessons they were, or leave it empty.")
        elif minutes and minutes > day_count * 24 * 60:
            days = "one day has" if day_count == 1 else f"{day_count} days have"
            self.add_error("minutes", f"That is more hours than {days}.")
        elif 0 in (lessons, minutes):
            # No lessons take no hours, so the other figure is known too.
            data["lesson_count"] = data["minutes"] = 0


def hours_as_typed(minutes: int) -> str:
    """Return minutes as one types hours: 6 or 7:30."""
    return f"{minutes // 60}:{minutes % 60:02}" if minutes % 60 else str(minutes // 60)
