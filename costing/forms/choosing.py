"""How a next car will be used and what running it costs, typed in and checked by the rules of an offers document."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from itertools import groupby
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.forms import BoundField

from config import budgets, quantities
from config.fields import DayField, MilesField, NumberField, PoundsField, put_today, unmarked, with_unit
from config.quantities import Number
from costing.core.catalogue.running import AS_ASKED, INSURANCE, RunningPart, When
from costing.offers.faults import Unreadable
from costing.offers.file import TOO_LARGE, BadFile, document_in
from costing.offers.reading import read_table
from costing.offers.wording import mot_age

#: The document has shares of one where the page asks for per cent.
_SHARES = ("discount_rate", "marginal_tax_rate")
#: One year's premium each; the last goes on.
_PREMIUMS = tuple(f"{INSURANCE.key}_{year}" for year in (1, 2, 3))


def pounds(label: str, help_text: str = "", *, example: str = "260") -> PoundsField:
    """A sum of an offer or a year."""
    return PoundsField(label=label, help_text=help_text, required=False, example=example)


def number(quantity: Number, label: str, help_text: str = "", *, example: str = "", unit: str = "") -> NumberField:
    """A number of an offer or a year."""
    return with_unit(NumberField(quantity, label=label, help_text=help_text, required=False, example=example), unit)


def as_typed(fields: Mapping[str, forms.Field], values: Mapping[str, Any]) -> dict[str, Any]:
    """Values of the document as somebody would type them: no decimals to a number that is whole, but for money."""

    def typed(name: str, value: Any) -> Any:
        plain = isinstance(value, Decimal) and not isinstance(fields.get(name), PoundsField)
        return f"{value.normalize():f}" if plain else value

    return {name: typed(name, value) for name, value in values.items()}


def put_faults(form: forms.Form, faults: Iterable[tuple[str, str]], fields: Mapping[str, str] | None = None) -> None:
    """Show what the document's rules say beside the fields it is said of; ``fields`` are those not called as keys."""
    for key, words in faults:
        name = (fields or {}).get(key, key)
        if name in form.fields and name not in form.errors:
            form.add_error(name, f"This {words}.")


def told_in(data: Mapping[str, Any], names: Collection[str]) -> dict[str, Any]:
    """Those of the cleaned values that were given."""
    return {name: data[name] for name in names if data.get(name) not in (None, "")}


class UseForm(forms.Form):
    """Step 1. ``use`` is the document's table of that name, once the form is valid."""

    name = forms.CharField(label="A name for this comparison", max_length=80)
    starts_on = DayField(label="The next car starts on", may_be_ahead=True)
    months = with_unit(
        NumberField(
            quantities.MONTHS, label="Compare over, in months", help_text="The same for every offer. 24 is two years."
        ),
        "months",
    )
    miles_per_year = with_unit(MilesField(quantities.SOME_MILES_A_YEAR, label="Miles a year, all of them"), "")
    private_miles_per_year = with_unit(
        MilesField(
            quantities.MILES_A_YEAR,
            label="Private miles among them",
            help_text="Shopping, school, holidays: whatever is not teaching.",
        ),
        "",
    )
    lesson_hours_per_week = NumberField(quantities.HOURS_A_WEEK, label="Lesson hours in a week that you teach")
    weeks_taught_per_year = NumberField(
        quantities.WEEKS_A_YEAR, label="Weeks taught in a year", help_text="52 less holidays."
    )
    lesson_hour_price = PoundsField(
        quantities.LESSON_PRICE,
        label="Price of a lesson hour",
        help_text="For how many hours a week go to pay for the car.",
    )
    marginal_tax_rate = number(
        quantities.PERCENT,
        "Tax on your next pound, in %",
        "Income tax and Class 4 together, for a row after tax. Your tax bill or an accountant tells; "
        "left empty, no tax is counted.",
        unit="%",
    )
    discount_rate = number(
        quantities.PERCENT,
        "What your own money could earn, in % a year",
        "Then a pound paid later weighs less. Left empty, a pound is a pound.",
        example="4",
        unit="%",
    )

    def __init__(self, data: Any = None, *, today: date, name: str, use: Mapping[str, Any]) -> None:
        percent = {key: Decimal(use[key]) * 100 for key in _SHARES if use.get(key)}
        typed = as_typed(self.base_fields, {**use, **percent})
        super().__init__(data, initial={"name": name, **typed}, label_suffix="")
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """The table of the document, by its own rules."""
        data = self.cleaned_data
        self.use = told_in(data, [name for name in self.fields if name != "name"])
        self.use.update({key: self.use[key] / 100 for key in _SHARES if key in self.use})
        try:
            read_table("use", self.use, ())
        except Unreadable as error:
            put_faults(self, ((str(fault.place[0]), fault.words) for fault in error.faults))
        return data


class RunningForm(forms.Form):
    """Step 2. ``running`` is the document's table of that name, once the form is valid.

    ``sources`` says by key where the figure came from.
    """

    def __init__(
        self, data: Any = None, *, running: Mapping[str, Any], sources: Mapping[str, str], nation: str
    ) -> None:
        super().__init__(data, label_suffix="")
        self.fields.update(field for part in AS_ASKED for field in _fields_of(part, nation))
        every_year = running.get(INSURANCE.key, [])
        premiums = dict(zip(_PREMIUMS, every_year, strict=False))
        self.initial = as_typed(self.fields, {**running, **premiums})
        self.later_premiums = every_year[len(_PREMIUMS) :]
        for name, field in self.fields.items():
            unmarked(field)
            if source := sources.get(INSURANCE.key if name == _PREMIUMS[0] else name):
                field.help_text = f"{field.help_text} {source[0].upper()}{source[1:]}.".strip()

    def rows(self) -> Iterator[list[BoundField]]:
        """One or two fields each, of parts that belong together."""
        for _, parts in groupby(AS_ASKED, key=lambda part: part.group):
            fields = [self[name] for part in parts for name in _names_of(part)]
            # Of an odd number the first has a row to itself.
            odd = len(fields) % 2
            yield from (fields[max(0, at) : at + 2] for at in range(-odd, len(fields), 2))

    def clean(self) -> dict[str, Any]:
        """The table of the document, by its own rules."""
        data = self.cleaned_data
        premiums = [data.get(name) for name in _PREMIUMS]
        given = [premium for premium in premiums if premium is not None]
        for name, premium in zip(_PREMIUMS, premiums[: len(given)], strict=False):
            if premium is None and name not in self.errors:
                self.add_error(name, "Give this year’s too: write 0 if there is nothing to pay.")
        self.running = told_in(data, [name for name in self.fields if name not in _PREMIUMS])
        if given:
            self.running[INSURANCE.key] = given + (self.later_premiums if len(given) == len(_PREMIUMS) else [])
        try:
            read_table("running", self.running, ())
        except Unreadable as error:
            faults = ((str(fault.place[0]), fault.words) for fault in error.faults)
            put_faults(self, faults, {INSURANCE.key: _PREMIUMS[0]})
        return data


def _names_of(part: RunningPart) -> Iterator[str]:
    yield from _PREMIUMS if part is INSURANCE else (part.key,)
    if part.life_key:
        yield part.life_key


def _fields_of(part: RunningPart, nation: str) -> Iterator[tuple[str, forms.Field]]:
    """The fields that ask for one part, by name."""
    hint = part.hint.format(mot_age=mot_age(nation))
    if part.when is When.PREMIUMS:
        first, second, third = _PREMIUMS
        yield first, pounds(f"{part.question}, the first year", hint, example="910")
        yield second, pounds("The second year", "Left empty, the first goes on.", example="790")
        yield third, pounds("The third and after", "Left empty, the last goes on.", example="720")
    elif part.when is When.BY_MILE:
        yield part.key, number(quantities.PENCE_A_MILE, part.question, hint, example=part.example, unit="p")
    else:
        yield part.key, pounds(part.question, hint, example=part.example)
    if part.life_key:
        last = "Left empty, 25,000: common practice."
        yield (
            part.life_key,
            MilesField(quantities.TYRE_MILES, label="Miles that a set lasts", required=False, help_text=last),
        )


class OffersFileForm(forms.Form):
    """An offers file; ``cleaned_data["file"]`` is its document, and every fault is one line."""

    file = forms.FileField(
        label="Offers file",
        widget=forms.FileInput(attrs={"accept": ".toml"}),
        error_messages={"required": "Choose a file.", "empty": "This file is empty."},
    )

    def __init__(self, data: Any = None, files: Any = None) -> None:
        super().__init__(data, files, label_suffix="")

    @property
    def file_name(self) -> str:
        """What the file is called, for a name of the comparison."""
        return self._name.removesuffix(".toml")[:80] or "Offers"

    def clean_file(self) -> dict[str, Any]:
        """The document; ValidationError with each fault and its line."""
        upload: UploadedFile = self.cleaned_data["file"]
        self._name = upload.name or "file"
        if (upload.size or 0) > budgets.OFFERS_FILE_BYTES:
            raise ValidationError(TOO_LARGE, code="large")
        try:
            return document_in(self._name, upload.read())
        except BadFile as error:
            raise ValidationError(error.faults, code="faults") from error
