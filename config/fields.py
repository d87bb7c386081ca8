"""Form fields that turn what comes from a phone into days, miles, sums, answers and pictures, or say what is wrong."""

import re
import unicodedata
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, TypeVar
from uuid import uuid4

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError

from config import budgets
from config.pictures import NotAPicture, TooManyPixels, as_jpeg
from config.showing import day as show_day

AnyField = TypeVar("AnyField", bound=forms.Field)

_NUMBER = re.compile(r"-?(?:[0-9]+|[0-9]{1,3}(?:,[0-9]{3})+)(?:\.[0-9]*)?|-?\.[0-9]+")
#: Characters that have what follows read from the other side.
_TURNS_AROUND = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_WHOLE = re.compile(r"[0-9]+|[0-9]{1,3}(?:,[0-9]{3})+")


def on_one_line(text: str) -> None:
    """Refuse line breaks and other control characters, and those that turn the direction of what follows.

    A name stands in the subjects of mails, in lists and on paper, where it would break the line or read as another.
    """
    if any(unicodedata.category(one) in {"Cc", "Zl", "Zp"} or one in _TURNS_AROUND for one in text):
        raise ValidationError("Write this on one line, without control characters.", code="control")


class DayField(forms.DateField):
    """One day, from the browser's calendar or typed in any usual British way.

    Not in the future unless ``may_be_ahead``; the form says by ``put_today`` which day it is.
    """

    #: A year outside these is a slip of the keyboard (0026, 20027), not a day in the life of a tuition car.
    years = range(1980, 2101)
    default_error_messages = {
        "invalid": "Write the day like 5 March 2027 or 05/03/2027.",
        "required": "Give a day.",
    }
    today: date | None = None

    def __init__(self, *, may_be_ahead: bool = False, **options: Any) -> None:
        self.may_be_ahead = may_be_ahead
        # Named here, since Django's own formats for British English would win over the setting.
        options["input_formats"] = settings.DATE_INPUT_FORMATS
        widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
        super().__init__(widget=widget, **options)

    def clean(self, value: Any) -> date | None:
        """The day, checked for slips in the year and against today."""
        chosen: date | None = super().clean(value)
        if chosen is None:
            return None
        if chosen.year not in self.years:
            raise ValidationError("Look at the year: no such day belongs in this book.", code="year")
        if self.today and chosen > self.today and not self.may_be_ahead:
            raise ValidationError(
                f"{show_day(chosen)} has not come yet: today is {show_day(self.today)}.", code="future"
            )
        return chosen


class MilesField(forms.CharField):
    """Whole miles, in a text box with a number pad: 48210, 48,210 or 48 210."""

    unit = "miles"

    def __init__(self, *, least: int = 0, most: int = 999_999, **options: Any) -> None:
        self.least, self.most = least, most
        keys = {"inputmode": "numeric", "autocomplete": "off"}
        super().__init__(max_length=budgets.NUMBER_CHARACTERS, widget=forms.TextInput(attrs=keys), **options)

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


def _plain_number(text: str, *, example: str, has_decimals: bool) -> Decimal:
    """The number typed, without pound sign, spaces and thousands commas; ValidationError if it is none.

    A comma anywhere else is refused rather than guessed at: "45,2" may be £45.20 or a slip for £452.
    """
    bare = re.sub(r"[\s£]", "", text).replace("−", "-")
    if not _NUMBER.fullmatch(bare):
        if "," in bare and has_decimals:
            words = f"This cannot be read: put a point before the decimals, as in {example}."
        else:
            words = f"This cannot be read: write it like {example}."
        raise ValidationError(words, code="invalid")
    return Decimal(bare.replace(",", ""))


class NumberField(forms.CharField):
    """A number in a text box with a number pad; ``places`` decimals at most, from ``least`` to ``most``."""

    def __init__(
        self,
        *,
        places: int,
        example: str,
        least: Decimal | int | None = None,
        most: Decimal | int,
        **options: Any,
    ) -> None:
        self.places, self.example, self.least, self.most = places, example, least, most
        keys = {"inputmode": "decimal" if places else "numeric", "autocomplete": "off"}
        super().__init__(max_length=budgets.NUMBER_CHARACTERS, widget=forms.TextInput(attrs=keys), **options)

    def clean(self, value: Any) -> Any:
        """The number as `Decimal` (`int` without places), or None where the field may be left empty."""
        text = super().clean(value)
        return self.read(text) if text else None

    def read(self, text: str) -> Any:
        """The number a text that is not empty stands for; ValidationError if it will not do."""
        number = _plain_number(text, example=self.example, has_decimals=self.places > 0)
        if number != round(number, self.places):
            few = {0: "whole numbers only", 1: "one decimal at most"}
            what = few.get(self.places, f"{self.places} decimals at most")
            raise ValidationError(f"Write it like {self.example}: {what}.", code="places")
        self.check_range(number)
        return number.quantize(Decimal(1).scaleb(-self.places)) if self.places else int(number)

    def check_range(self, number: Decimal) -> None:
        """ValidationError if the number lies outside what the field takes."""
        if self.least is not None and number < self.least:
            raise ValidationError(f"This must be {self.least:,} or more.", code="least")
        if number > self.most or number < -self.most:
            raise ValidationError(f"This must be {self.most:,} or less.", code="most")


class PoundsField(NumberField):
    """A sum in pounds, as `Decimal` with two places."""

    sign = "£"

    def __init__(self, *, least: Decimal | int | None = None, **options: Any) -> None:
        options = {"example": "45.20", "most": Decimal("99999.99"), **options}
        super().__init__(places=2, least=least, **options)


class RefField(forms.UUIDField):
    """The reference a page made when it was asked for, as text: sent twice with it, a form counts once."""

    def __init__(self) -> None:
        wrong = "Reload the page and try again."
        super().__init__(widget=forms.HiddenInput, initial=uuid4, error_messages={"invalid": wrong, "required": wrong})

    def clean(self, value: Any) -> str:
        """The reference; ValidationError if it is none."""
        return str(super().clean(value))


class LinesField(forms.CharField):
    """Several things, one a line, as a list; empty lines do not count."""

    def __init__(self, *, longest: int = 500, most: int = 30, **options: Any) -> None:
        self.longest, self.most = longest, most
        options.setdefault("help_text", "One a line.")
        super().__init__(required=False, widget=forms.Textarea(attrs={"rows": 3}), **options)

    def clean(self, value: Any) -> Any:
        """The lines; ValidationError for one that is too long, or too many of them."""
        lines = [line.strip() for line in super().clean(value).splitlines() if line.strip()]
        if any(len(line) > self.longest for line in lines):
            raise ValidationError(f"Write each in {self.longest} letters at the most.", code="long")
        if len(lines) > self.most:
            raise ValidationError(f"At most {self.most} lines can be kept.", code="many")
        return lines


class AnswerField(forms.ChoiceField):
    """Yes, no or not looked at yet, as True, False or None; nothing is chosen beforehand."""

    ANSWERS = {"yes": True, "no": False, "unknown": None}

    def __init__(self, **options: Any) -> None:
        choices = [("yes", "Yes"), ("no", "No"), ("unknown", "Not looked at yet")]
        options["error_messages"] = {"required": "Choose one."} | options.get("error_messages", {})
        super().__init__(choices=choices, widget=forms.RadioSelect, **options)

    def clean(self, value: Any) -> bool | None:
        """True for yes, False for no, None for not looked at yet."""
        return self.ANSWERS.get(super().clean(value))

    @classmethod
    def choice_of(cls, answer: bool | None) -> str:
        """The choice that stands for an answer."""
        return next(choice for choice, meant in cls.ANSWERS.items() if meant is answer)


class PhotoField(forms.FileField):
    """A picture from the phone's camera or album, as the bytes of a JPEG of our own making, or None."""

    def __init__(self, **options: Any) -> None:
        # Naming JPEG makes a phone hand over one, whatever it keeps its pictures as.
        widget = forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"})
        options = {"required": False, "widget": widget, **options}
        super().__init__(**options)

    def clean(self, data: Any, initial: Any = None) -> bytes | None:
        """The picture's bytes; ValidationError for what is too large or no picture."""
        upload = super().clean(data, initial)
        if not upload:
            return None
        if upload.size > budgets.PICTURE_BYTES:
            most = budgets.PICTURE_BYTES // 10**6
            raise ValidationError(f"This picture is too large: at most {most} MB.", code="large")
        try:
            return as_jpeg(upload)
        except TooManyPixels:
            jpeg, png = budgets.JPEG_PIXELS // 10**6, budgets.OTHER_PIXELS["PNG"] // 10**6
            words = f"at most {jpeg} million in a JPEG photo, {png} million in a PNG picture"
            raise ValidationError(f"This picture has too many pixels: {words}.", code="pixels") from None
        except NotAPicture:
            raise ValidationError("This cannot be read as a photo: send a JPEG or PNG picture.", code="photo") from None


def with_unit(field: AnyField, unit: str) -> AnyField:
    """The field with its ``unit`` shown after the control; none shown for an empty one."""
    field.unit = unit  # type: ignore[attr-defined]  # the template of fields reads it
    return field


def unmarked(field: AnyField) -> AnyField:
    """The field without "(optional)": something else on the page says whether it should be left empty."""
    field.template_name = "_field_unmarked.html"  # type: ignore[attr-defined]  # Django has it, its stubs do not yet
    return field


def put_today(fields: Mapping[str, forms.Field], today: date) -> None:
    """Tell every day among ``fields`` what day it is; the browser's calendar then ends there too."""
    for field in fields.values():
        if isinstance(field, DayField):
            field.today = today
            if not field.may_be_ahead:
                field.widget.attrs["max"] = today.isoformat()
