"""Form fields that turn what somebody types or sends into days, miles, money, answers and pictures."""

import unicodedata
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, NamedTuple, TypeVar
from uuid import uuid4

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError

from config import budgets, quantities
from config.pictures import NotAPicture, NotReadNow, TooManyPixels, as_jpeg
from config.quantities import Hours, Number
from config.reader_process import TimeLeft
from config.showing import day as show_day

AnyField = TypeVar("AnyField", bound=forms.Field)

# Django has no setting for the words of its own fields, allauth's among them.
forms.Field.default_error_messages |= {
    "required": "Fill this in.",
    "max_length": "Use at most %(limit_value)d characters.",
}

#: Characters that reverse the direction in which the text after them is read.
_TURNS_AROUND = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def on_one_line(text: str) -> None:
    """Refuse line breaks, other control characters, and characters that reverse the direction of reading.

    A name goes into subjects, lists and print, where these would break the line or make it read as another name.
    """
    if any(unicodedata.category(one) in {"Cc", "Zl", "Zp"} or one in _TURNS_AROUND for one in text):
        raise ValidationError("Write this on one line, without control characters.", code="control")


class DayField(forms.DateField):
    """One day, picked from the browser's calendar or typed in any usual British way.

    It may not be in the future unless ``may_be_ahead``. The form gives today's date with ``put_today``.
    """

    default_error_messages = {
        "invalid": "Write the day like 5 March 2027 or 05/03/2027.",
        "required": "Give a day.",
    }
    today: date | None = None

    def __init__(self, *, may_be_ahead: bool = False, **options: Any) -> None:
        self.may_be_ahead = may_be_ahead
        # Given here, because Django's formats for British English would override the setting.
        options["input_formats"] = settings.DATE_INPUT_FORMATS
        widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
        super().__init__(widget=widget, **options)

    def clean(self, value: Any) -> date | None:
        """The day. Raises ValidationError for an impossible year, and for a future day unless ``may_be_ahead``."""
        chosen: date | None = super().clean(value)
        if chosen is None:
            return None
        try:
            quantities.DAY.check(chosen)
        except quantities.Wrong:
            first, last = quantities.DAY.least.year, quantities.DAY.most.year
            raise ValidationError(f"Check the year: it must be from {first} to {last}.", code="year") from None
        if self.today and chosen > self.today and not self.may_be_ahead:
            raise ValidationError(
                f"{show_day(chosen)} has not come yet: today is {show_day(self.today)}.", code="future"
            )
        return chosen


class QuantityField(forms.CharField):
    """A text box for a quantity; ``read`` turns what is typed into its value.

    ``error_messages`` may replace the quantity's own words for "least", "most" or "invalid" to give a reason.
    """

    def __init__(self, read: Callable[[str], Any], **options: Any) -> None:
        self.read = read
        super().__init__(**options)

    def clean(self, value: Any) -> Any:
        """The value, or None for an optional field left empty. Raises ValidationError."""
        typed = super().clean(value)
        if not typed:
            return None
        try:
            return self.read(typed)
        except ValueError as wrong:
            code = getattr(wrong, "code", "invalid")
            raise ValidationError(self.error_messages.get(code, f"This {wrong}."), code=code) from None


class NumberField(QuantityField):
    """A number, typed with a number pad; ``example`` shows in errors how one is typed."""

    def __init__(self, quantity: Number, *, example: str = "", **options: Any) -> None:
        keys = {"inputmode": "decimal" if quantity.places else "numeric", "autocomplete": "off"}
        options = {"max_length": budgets.NUMBER_CHARACTERS, "widget": forms.TextInput(attrs=keys), **options}
        self.quantity = quantity.within(example=example) if example else quantity
        super().__init__(self.quantity.read_typed, **options)

    def narrow(self, **bounds: Any) -> None:
        """Narrow the bounds of the quantity for this form."""
        self.quantity = self.quantity.within(**bounds)
        self.read = self.quantity.read_typed


class MilesField(NumberField):
    """Whole miles: 48210, 48,210 or 48 210."""

    unit = "miles"

    def __init__(self, quantity: Number = quantities.MILES, **options: Any) -> None:
        super().__init__(quantity, **options)


class PoundsField(NumberField):
    """Money in pounds, as `Decimal` with two places."""

    sign = "£"

    def __init__(self, quantity: Number = quantities.BILL_POUNDS, **options: Any) -> None:
        super().__init__(quantity, **options)


class HoursField(QuantityField):
    """Hours taught, as whole minutes (`int`): 1.5 and 1:30 both give 90."""

    def __init__(self, quantity: Hours = quantities.HOURS, **options: Any) -> None:
        keys = {"inputmode": "decimal", "autocomplete": "off"}
        widget = forms.TextInput(attrs=keys)
        super().__init__(quantity.read_typed, max_length=budgets.NUMBER_CHARACTERS, widget=widget, **options)


class EmailField(QuantityField):
    """An e-mail address, in lower case."""

    def __init__(self, *, autocomplete: str = "off", **options: Any) -> None:
        keys = {"autocomplete": autocomplete, "autocapitalize": "none", "spellcheck": "false"}
        widget = forms.EmailInput(attrs=keys)
        super().__init__(quantities.EMAIL.read, max_length=quantities.EMAIL.longest, widget=widget, **options)


class RefField(forms.UUIDField):
    """A hidden reference, made when the page is shown, as text: a form sent twice with it counts once."""

    def __init__(self) -> None:
        wrong = "Reload the page and try again."
        super().__init__(widget=forms.HiddenInput, initial=uuid4, error_messages={"invalid": wrong, "required": wrong})

    def clean(self, value: Any) -> str:
        """The reference. Raises ValidationError if it is not one."""
        return str(super().clean(value))


class LinesField(forms.CharField):
    """Several items, one a line, as a list without empty lines."""

    def __init__(self, *, longest: int = 500, most: int = 30, **options: Any) -> None:
        self.longest, self.most = longest, most
        options.setdefault("help_text", "One per line.")
        super().__init__(required=False, widget=forms.Textarea(attrs={"rows": 3}), **options)

    def clean(self, value: Any) -> Any:
        """The lines. Raises ValidationError if one is too long or there are too many."""
        lines = [line.strip() for line in super().clean(value).splitlines() if line.strip()]
        if any(len(line) > self.longest for line in lines):
            raise ValidationError(f"Use at most {self.longest} characters a line.", code="long")
        if len(lines) > self.most:
            raise ValidationError(f"Use at most {self.most} lines.", code="many")
        return lines


class AnswerField(forms.ChoiceField):
    """Yes, no or not looked at yet, as True, False or None; nothing is preselected."""

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
    """A picture from the phone's camera or album, as the bytes of a new JPEG, or None.

    Several of one form share the time that is ``left``.
    """

    def __init__(self, *, left: TimeLeft | None = None, **options: Any) -> None:
        self.left = left
        # Accepting JPEG makes a phone convert its pictures, whatever format it keeps them in.
        widget = forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"})
        options = {"required": False, "widget": widget, **options}
        super().__init__(**options)

    def clean(self, data: Any, initial: Any = None) -> bytes | None:
        """The JPEG's bytes. Raises ValidationError for anything too large or not a picture."""
        upload = super().clean(data, initial)
        if not upload:
            return None
        if upload.size > budgets.PICTURE_BYTES:
            most = budgets.PICTURE_BYTES // 10**6
            raise ValidationError(f"This picture is too large. Send one of at most {most} MB.", code="large")
        try:
            return as_jpeg(upload, self.left)
        except NotReadNow:
            words = "This photo cannot be read now, because the server is busy. Send it again in a moment."
            raise ValidationError(words, code="now") from None
        except TooManyPixels:
            jpeg, png = budgets.JPEG_PIXELS // 10**6, budgets.OTHER_PIXELS["PNG"] // 10**6
            words = f"at most {jpeg} million for a JPEG photo, {png} million for a PNG picture"
            raise ValidationError(f"This picture has too many pixels: {words}.", code="pixels") from None
        except NotAPicture:
            raise ValidationError("This cannot be read as a photo: send a JPEG or PNG picture.", code="photo") from None


def with_unit(field: AnyField, unit: str) -> AnyField:
    """The field with ``unit`` shown after its control; "" shows none."""
    field.unit = unit  # type: ignore[attr-defined]  # _field.html reads it
    return field


class Likely(NamedTuple):
    """What may be meant: ``value`` is sent as ``meant`` by the key that says ``words`` (`config.asking`)."""

    value: str
    words: str


class Link(NamedTuple):
    """A page that answers a question, and what its link says."""

    address: str
    words: str


#: The words of the key that says so.
IT_IS_RIGHT = "It is right"


class Question(NamedTuple):
    """What the book asks about a figure below its row of the slip: why, and what may be meant.

    It is answered by keys that send the form: a meaning, or ``key``, which says ``right`` if it may be. Or by
    a tick that goes with the form if ``is_ticked`` says whether it is there. ``link`` leads to the page on which what
    explains the figure is recorded.
    """

    why: str
    meanings: tuple[Likely, ...] = ()
    key: str = ""
    may_be_right: bool = True
    is_ticked: bool | None = None
    link: Link | None = None
    right: str = IT_IS_RIGHT


def with_lately(field: AnyField, lately: str) -> AnyField:
    """The field with what it was last below its label: "41,518 on Monday"."""
    field.lately = lately  # type: ignore[attr-defined]  # _field_label.html reads it
    return field


def unmarked(field: AnyField) -> AnyField:
    """The field without "optional", because the page says itself when to leave it empty."""
    field.template_name = "_field_unmarked.html"  # type: ignore[attr-defined]  # Django has it, its stubs do not yet
    return field


def put_today(fields: Mapping[str, forms.Field], today: date) -> None:
    """Give today's date to every day field, whose calendar then ends there unless it may be ahead."""
    for field in fields.values():
        if isinstance(field, DayField):
            field.today = today
            if not field.may_be_ahead:
                field.widget.attrs["max"] = today.isoformat()
