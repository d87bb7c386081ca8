"""Lessons and hours taught."""

from datetime import date
from typing import Any

from config import quantities
from config.fields import DayField, HoursField, MilesField, NumberField, with_unit
from costing.forms.entries import EntryForm
from costing.models import TeachingRecord


class TeachingForm(EntryForm):
    """Lessons and hours taught in one car, on one day or over several."""

    kind, model = "lessons", TeachingRecord

    lesson_count = NumberField(quantities.COUNT, label="Lessons")
    minutes = with_unit(HoursField(label="Hours", help_text="For example 6, 7.5 or 7:30."), "hours")
    from_on = DayField(label="Day")
    to_on = DayField(label="To, if more than one day", required=False)
    private_miles = MilesField(
        label="Private",
        required=False,
        help_text="Miles driven for yourself, not for lessons or between them.",
    )

    @staticmethod
    def new_initial(today: date) -> dict[str, Any]:
        return {"from_on": today}

    @staticmethod
    def initial_of(entry: TeachingRecord) -> dict[str, Any]:
        return {
            "lesson_count": entry.lesson_count,
            "minutes": f"{entry.minutes // 60}:{entry.minutes % 60:02}" if entry.minutes % 60 else entry.minutes // 60,
            "from_on": entry.from_on,
            "to_on": entry.to_on if entry.to_on != entry.from_on else None,
            "private_miles": entry.private_miles,
        }

    def clean(self) -> dict[str, Any]:
        """Take one day unless a last day is given; check that lessons and hours go together."""
        data = self.cleaned_data
        first = data.get("from_on")
        if "to_on" not in self.errors:
            data["to_on"] = data.get("to_on") or first
        if "private_miles" not in self.errors:
            data["private_miles"] = data.get("private_miles") or 0
        if first and data.get("to_on"):
            if data["to_on"] < first:
                self.add_error("to_on", "The last day is before the first.")
            else:
                self._check_hours((data["to_on"] - first).days + 1)
        return data

    def _check_hours(self, day_count: int) -> None:
        lessons, minutes = (self.cleaned_data.get(name) for name in ("lesson_count", "minutes"))
        if lessons is None or minutes is None:
            return
        if lessons and not minutes:
            self.add_error("minutes", "You logged lessons: say how many hours they took.")
        elif minutes and not lessons:
            self.add_error("lesson_count", "You logged hours: say how many lessons they were.")
        elif not lessons and not self.cleaned_data.get("private_miles"):
            self.add_error("lesson_count", "There are no lessons and no private miles, so there is nothing to log.")
        elif minutes > day_count * 24 * 60:
            days = "one day has" if day_count == 1 else f"{day_count} days have"
            self.add_error("minutes", f"That is more hours than {days}.")
