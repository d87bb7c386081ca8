"""The forms of the walkaround check, cleaned to what the actions take."""

from collections.abc import Sequence
from datetime import date
from typing import Any, NamedTuple
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField

from config import budgets
from config.fields import DayField, PhotoField, put_today
from fleet.actions import PointFault
from fleet.core.defects import Severity
from fleet.core.points import GROUPS, Point
from fleet.models import CheckGroup

#: Undoes a severity chosen by mistake: a radio button cannot be cleared.
_NOT_WRONG = "none"
_SEVERITIES = [
    (Severity.DANGEROUS.value, Severity.DANGEROUS.words),
    (Severity.BEFORE_NEXT_LESSON.value, f"{Severity.BEFORE_NEXT_LESSON.words}: no lesson until then"),
    (Severity.WATCH.value, f"{Severity.WATCH.words}: lessons can go on"),
    (_NOT_WRONG, "Nothing wrong after all"),
]


class PointFields(NamedTuple):
    """The fields of one point; ``is_open`` if something was already entered."""

    point: Point
    severity: BoundField
    description: BoundField
    photo: BoundField
    is_open: bool


class GroupFields(NamedTuple):
    """The fields of one group."""

    name: str
    title: str
    is_fine: BoundField
    points: list[PointFields]


class CheckForm(forms.Form):
    """A walkaround check: all of it or the groups that are ticked, and what is wrong with any point."""

    ALL, TICKED = "all", "ticked"

    ref = forms.UUIDField(widget=forms.HiddenInput, error_messages={"invalid": "Reload the page and try again."})
    #: Which button was pressed. Without it, only what was ticked counts as looked at.
    extent = forms.CharField(required=False)
    checked_on = DayField(label="Day of the check")
    note = forms.CharField(label="Note", max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, data: Any = None, files: Any = None, *, points: Sequence[Point], today: date) -> None:
        # Then none is read: each takes time.
        self._has_too_many_photos = len(files or ()) > budgets.CHECK_PHOTOS
        files = None if self._has_too_many_photos else files
        super().__init__(data, files, initial={"ref": uuid4(), "checked_on": today}, label_suffix="")
        self.points = points
        for group in GROUPS:
            self.fields[f"{group}-fine"] = forms.BooleanField(label="All fine here", required=False)
        for point in points:
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
            self.fields[f"{point.name}-photo"] = PhotoField(label=f"{point.words}: photo")
        put_today(self.fields, today)

    @property
    def groups(self) -> list[GroupFields]:
        """The fields by group, for the page."""
        return [
            GroupFields(
                group,
                title,
                self[f"{group}-fine"],
                [self._fields_of(point) for point in self.points if point.group == group],
            )
            for group, title in GROUPS.items()
        ]

    def _fields_of(self, point: Point) -> PointFields:
        severity, description, photo = (self[f"{point.name}-{asked}"] for asked in ("severity", "description", "photo"))
        is_open = bool(severity.value() or description.value() or severity.errors or photo.errors)
        return PointFields(point, severity, description, photo, is_open)

    def clean(self) -> dict[str, Any]:
        """The arguments of the action: the points looked at, and what was wrong with them."""
        data = self.cleaned_data
        if self._has_too_many_photos:
            words = f"At most {budgets.CHECK_PHOTOS} photos can be sent with one check: report the others separately."
            raise ValidationError(words, code="many")
        faults = [fault for point in self.points if (fault := self._fault(point))]
        faulty = {fault.point for fault in faults}
        points = [
            point.name
            for point in self.points
            if data.get("extent") == self.ALL or data.get(f"{point.group}-fine") or point.name in faulty
        ]
        if not points and not self.errors:
            raise ValidationError("Tick the parts that you looked at, or say what is wrong.")
        kept = {name: data.get(name) for name in ("checked_on", "note")}
        return kept | {"ref": str(data.get("ref")), "points": points, "faults": faults}

    def _fault(self, point: Point) -> PointFault | None:
        """What is wrong with a point; None if nothing is, or if its severity is missing."""
        severity, description, photo = (
            self.cleaned_data.get(f"{point.name}-{asked}") for asked in ("severity", "description", "photo")
        )
        if severity and severity != _NOT_WRONG:
            return PointFault(point.name, severity, " ".join((description or "").split()), photo)
        if (description or photo) and f"{point.name}-severity" not in self.errors:
            why = "If nothing is wrong, delete what you wrote." if severity else "Say how serious it is."
            self.add_error(f"{point.name}-severity", why)
        return None


class CheckPointForm(forms.Form):
    """A point that the co-op adds to the check."""

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
