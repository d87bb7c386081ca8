"""Form fields that turn what comes from a phone into days, miles and pictures, or say plainly what is wrong."""

import re
from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError

from config.pictures import NotAPicture, as_jpeg
from config.showing import day as show_day

#: A year outside these is a slip of the keyboard (0026, 20027), not a day in the life of a tuition car.
_YEARS = range(1980, 2101)
_WHOLE = re.compile(r"[0-9]+|[0-9]{1,3}(?:,[0-9]{3})+")


class DayField(forms.DateField):
    """One day, from the browser's calendar or typed in any usual British way.

    Not in the future unless ``may_be_ahead``; the form says by ``put_today`` which day it is.
    """

    today: date | None = None

    def __init__(self, *, may_be_ahead: bool = False, **options: Any) -> None:
        self.may_be_ahead = may_be_ahead
        messages = {"invalid": "Write the day like 5 March 2027 or 05/03/2027.", "required": "Give a day."}
        options["error_messages"] = messages | options.get("error_messages", {})
        # Named here, since Django's own formats for British English would win over the setting.
        options["input_formats"] = settings.DATE_INPUT_FORMATS
        widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
        super().__init__(widget=widget, **options)

    def clean(self, value: Any) -> date | None:
        """The day, checked for slips in the year and against today."""
        chosen: date | None = super().clean(value)
        if chosen is None:
            return None
        if chosen.year not in _YEARS:
            raise ValidationError("Look at the year: no such day belongs in this book.", code="year")
        if self.today and chosen > self.today and not self.may_be_ahead:
            raise ValidationError(
                f"{show_day(chosen)} has not come yet: today is {show_day(self.today)}.", code="future"
            )
        return chosen


class MilesField(forms.CharField):
    """Whole miles, in a text box with a number pad: 48210, 48,210 or 48 210."""

    def __init__(self, *, least: int = 0, most: int = 999_999, **options: Any) -> None:
        self.least, self.most = least, most
        keys = {"inputmode": "numeric", "autocomplete": "off"}
        super().__init__(max_length=20, widget=forms.TextInput(attrs=keys), **options)

    def clean(self, value: Any) -> Any:
        """The miles as `int`, or None where the field may be left empty."""
        typed = super().clean(value)
        if not typed:
            return None
        bare = re.sub(r"\s", "", typed)
        if not _WHOLE.fullmatch(bare):
            raise ValidationError(f"“{typed}” cannot be read: write whole miles like 48,210.", code="invalid")
        miles = int(bare.replace(",", ""))
        if not self.least <= miles <= self.most:
            raise ValidationError(f"This must be between {self.least:,} and {self.most:,} miles.", code="range")
        return miles


class PhotoField(forms.FileField):
    """A picture from the phone's camera or album, as the bytes of a JPEG of our own making, or None."""

    MOST_BYTES = 15_000_000

    def __init__(self, **options: Any) -> None:
        # Naming JPEG makes a phone hand over one, whatever it keeps its pictures as.
        widget = forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"})
        super().__init__(**{"required": False, "widget": widget} | options)

    def clean(self, data: Any, initial: Any = None) -> bytes | None:
        """The picture's bytes; ValidationError for what is too large or no picture."""
        upload = super().clean(data, initial)
        if not upload:
            return None
        if upload.size > self.MOST_BYTES:
            raise ValidationError("This picture is too large: at most 15 MB.", code="large")
        try:
            return as_jpeg(upload)
        except NotAPicture:
            raise ValidationError("This cannot be read as a photo: send a JPEG or PNG picture.", code="photo") from None


def put_today(fields: Mapping[str, forms.Field], today: date) -> None:
    """Tell every day among ``fields`` what day it is; the browser's calendar then ends there too."""
    for field in fields.values():
        if isinstance(field, DayField):
            field.today = today
            if not field.may_be_ahead:
                field.widget.attrs["max"] = today.isoformat()
