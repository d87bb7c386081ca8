"""The forms of the walkaround check, cleaned to what the actions take."""

from collections.abc import Sequence
from datetime import date
from typing import Any, NamedTuple

from django import forms
from django.core import signing
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.utils import timezone

from config import budgets
from config.fields import DayField, PhotoField, RefField, put_today
from config.reader_process import TimeLeft
from fleet.actions import PointFault
from fleet.core.defects import Severity
from fleet.core.points import Point
from fleet.models import CheckGroup

#: What is pressed with one hand, so in fewer words than elsewhere.
_SEVERITIES = [
    (Severity.DANGEROUS.value, "Do not drive"),
    (Severity.BEFORE_NEXT_LESSON.value, "Before the next lesson"),
    (Severity.WATCH.value, "Watch it"),
]
#: A page that was open for longer was left alone: how long the look took is then not known.
_LONGEST_LOOK = 30 * 60


class _OpenedField(forms.CharField):
    """When the page was made, signed, so that nobody can say they looked for longer; gives the seconds since then."""

    _signer = signing.Signer(salt="a page of the walkaround check")

    def __init__(self) -> None:
        super().__init__(widget=forms.HiddenInput, initial=self._now, required=False, max_length=100)

    def _now(self) -> str:
        return self._signer.sign(str(int(timezone.now().timestamp())))

    def clean(self, value: Any) -> int | None:
        """Whole seconds; None if that cannot be known."""
        try:
            opened = int(self._signer.unsign(super().clean(value)))
        except (signing.BadSignature, ValidationError):
            return None
        seconds = int(timezone.now().timestamp()) - opened
        return seconds if 0 <= seconds <= _LONGEST_LOOK else None


class PointFields(NamedTuple):
    """The fields of one point."""

    point: Point
    fault: BoundField
    severity: BoundField
    description: BoundField
    photo: BoundField


class CheckGroupForm(forms.Form):
    """One group of a walkaround check: what is wrong with which point; all else there is fine."""

    opened = _OpenedField()
    checked_on = DayField(label="Day of the check")
    note = forms.CharField(label="Note", max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(
        self,
        data: Any = None,
        files: Any = None,
        *,
        points: Sequence[Point],
        today: date,
        begun_on: date | None,
        note: str = "",
    ) -> None:
        # Then none is read: each takes time.
        self._has_too_many_photos = len(files or ()) > budgets.CHECK_PHOTOS
        files = None if self._has_too_many_photos else files
        super().__init__(data, files, initial={"checked_on": today, "note": note}, label_suffix="")
        self.points, self.begun_on = points, begun_on
        self._left = TimeLeft()
        if begun_on:
            del self.fields["checked_on"]
        for point in points:
            self._add_fields_of(point)
        put_today(self.fields, today)

    def _add_fields_of(self, point: Point) -> None:
        self.fields[f"{point.name}-fault"] = forms.BooleanField(label=f"Fault: {point.words}", required=False)
        self.fields[f"{point.name}-severity"] = forms.ChoiceField(
            label=f"{point.words}: how serious is it?",
            choices=_SEVERITIES,
            widget=forms.RadioSelect,
            required=False,
            help_text="If in doubt, choose the more serious one and ask a qualified technician.",
        )
        # More than one line, so that the return key of a phone does not send the form.
        self.fields[f"{point.name}-description"] = forms.CharField(
            label=f"{point.words}: what is wrong",
            max_length=400,
            required=False,
            widget=forms.Textarea(attrs={"rows": 2}),
        )
        self.fields[f"{point.name}-photo"] = PhotoField(label=f"{point.words}: photo", left=self._left)

    @property
    def rows(self) -> list[PointFields]:
        """The fields by point, for the page."""
        asked = ("fault", "severity", "description", "photo")
        return [PointFields(point, *(self[f"{point.name}-{name}"] for name in asked)) for point in self.points]

    def clean(self) -> dict[str, Any]:
        """What ``record_group`` takes: what was wrong, and how long the look took."""
        if self._has_too_many_photos:
            words = f"At most {budgets.CHECK_PHOTOS} photos can be sent at once: report the others separately."
            raise ValidationError(words, code="many")
        data = self.cleaned_data
        faults = [fault for point in self.points if (fault := self._fault(point))]
        checked_on = self.begun_on or data.get("checked_on")
        note, seconds = data.get("note", ""), data.get("opened")
        return {"checked_on": checked_on, "faults": faults, "seconds": seconds, "note": note}

    def _fault(self, point: Point) -> PointFault | None:
        """What is wrong with a point; None if nothing is, or if it was not said how serious it is."""
        is_faulty, severity, description, photo = (
            self.cleaned_data.get(f"{point.name}-{asked}") for asked in ("fault", "severity", "description", "photo")
        )
        if not is_faulty:
            return None
        if not severity:
            if f"{point.name}-severity" not in self.errors:
                self.add_error(f"{point.name}-severity", "Say how serious it is.")
            return None
        return PointFault(point.name, severity, " ".join((description or "").split()), photo)


class CheckPointForm(forms.Form):
    """A point that the co-op adds to the check."""

    ref = RefField()
    group = forms.ChoiceField(label="Part of the check", choices=CheckGroup, widget=forms.RadioSelect)
    words = forms.CharField(label="What it is", max_length=80, help_text="Such as: roof sign.")
    look_for = forms.CharField(
        label="What to look for",
        max_length=200,
        required=False,
        help_text="Such as: fixed firmly, nothing cracked.",
    )

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, initial={"group": CheckGroup.TUITION}, label_suffix="")
