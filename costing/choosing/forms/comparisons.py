"""How a next car will be used and what running it costs, checked by the rules of an offers document."""

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
from costing.choosing.document.checks import Unreadable
from costing.choosing.document.reading import read_table
from costing.choosing.document.toml import TOO_LARGE, BadFile, document_in
from costing.choosing.pictures.wording import mot_age
from costing.core.catalogue.running import AS_ASKED, INSURANCE, RunningPart, When

#: The document has these as shares, and the page asks for them in per cent.
_SHARES = ("discount_rate", "marginal_tax_rate")
#: The premium of each year; the last one goes on.
_PREMIUMS = tuple(f"{INSURANCE.key}_{year}" for year in (1, 2, 3))


def pounds(label: str, help_text: str = "", *, example: str = "260") -> PoundsField:
    """A field for a sum of money."""
    return PoundsField(quantities.POUNDS, label=label, help_text=help_text, required=False, example=example)


def number(quantity: Number, label: str, help_text: str = "", *, example: str = "", unit: str = "") -> NumberField:
    """A field for a number."""
    return with_unit(NumberField(quantity, label=label, help_text=help_text, required=False, example=example), unit)


def as_typed(fields: Mapping[str, forms.Field], values: Mapping[str, Any]) -> dict[str, Any]:
    """Values of the document as somebody would type them: only sums of money keep their zeros."""

    def typed(name: str, value: Any) -> Any:
        plain = isinstance(value, Decimal) and not isinstance(fields.get(name), PoundsField)
        return f"{value.normalize():f}" if plain else value

    return {name: typed(name, value) for name, value in values.items()}


def put_faults(form: forms.Form, faults: Iterable[tuple[str, str]], fields: Mapping[str, str] | None = None) -> None:
    """Show what the document's rules say beside each field; ``fields`` maps keys to fields of another name."""
    for key, words in faults:
        name = (fields or {}).get(key, key)
        if name in form.fields and name not in form.errors:
            form.add_error(name, f"This {words}.")


def filled_in(data: Mapping[str, Any], names: Collection[str]) -> dict[str, Any]:
    """The cleaned values of the fields that were filled in."""
    return {name: data[name] for name in names if data.get(name) not in (None, "")}


class UseForm(forms.Form):
    """Step 1 of a comparison. Once the form is valid, ``use`` is that table of the document."""

    name = forms.CharField(label="A name for this comparison", max_length=80)
    starts_on = DayField(label="When would the next car start?", may_be_ahead=True)
    months = with_unit(
        NumberField(
            quantities.MONTHS, label="Months to compare", help_text="The same for every offer. 24 months are two years."
        ),
        "months",
    )
    miles_per_year = with_unit(MilesField(quantities.SOME_MILES_A_YEAR, label="Miles a year in all"), "")
    private_miles_per_year = with_unit(
        MilesField(
            quantities.MILES_A_YEAR,
            label="Private miles of those",
            help_text="Shopping, school runs, holidays: all that isn’t teaching.",
        ),
        "",
    )
    lesson_hours_per_week = NumberField(quantities.HOURS_A_WEEK, label="Lesson hours in a working week")
    weeks_taught_per_year = NumberField(
        quantities.WEEKS_A_YEAR, label="Weeks you teach in a year", help_text="52, less your holidays."
    )
    lesson_hour_price = PoundsField(
        quantities.LESSON_PRICE,
        label="Price of a lesson hour",
        help_text="We work out from it how many hours a week go to pay for the car.",
    )
    marginal_tax_rate = number(
        quantities.PERCENT,
        "Tax on the next pound you earn, in %",
        "Income tax and Class 4 National Insurance together. Ask your accountant if you are not sure. "
        "Leave it empty to leave tax out.",
        unit="%",
    )
    discount_rate = number(
        quantities.PERCENT,
        "What your own money could earn, in % a year",
        "A pound paid later then counts for less. Leave it empty to count every pound alike.",
        example="4",
        unit="%",
    )

    def __init__(self, data: Any = None, *, today: date, name: str, use: Mapping[str, Any]) -> None:
        percent = {key: Decimal(use[key]) * 100 for key in _SHARES if use.get(key)}
        typed = as_typed(self.base_fields, {**use, **percent})
        super().__init__(data, initial={"name": name, **typed}, label_suffix="")
        put_today(self.fields, today)

    def clean(self) -> dict[str, Any]:
        """Check the table by the document's own rules."""
        data = self.cleaned_data
        self.use = filled_in(data, [name for name in self.fields if name != "name"])
        self.use.update({key: self.use[key] / 100 for key in _SHARES if key in self.use})
        try:
            read_table("use", self.use, ())
        except Unreadable as error:
            put_faults(self, ((str(fault.place[0]), fault.words) for fault in error.faults))
        return data


class RunningForm(forms.Form):
    """Step 2 of a comparison. Once the form is valid, ``running`` is that table of the document.

    ``sources`` says where the figure of each key came from.
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

    def groups(self) -> Iterator[tuple[str, list[BoundField]]]:
        """The fields by what the money goes on."""
        for group, parts in groupby(AS_ASKED, key=lambda part: part.group):
            yield group.value, [self[name] for part in parts for name in _names_of(part)]

    def clean(self) -> dict[str, Any]:
        """Check the table by the document's own rules."""
        data = self.cleaned_data
        premiums = [data.get(name) for name in _PREMIUMS]
        given = [premium for premium in premiums if premium is not None]
        for name, premium in zip(_PREMIUMS, premiums[: len(given)], strict=False):
            if premium is None and name not in self.errors:
                self.add_error(name, "Fill in this year too. Write 0 if there is nothing to pay.")
        self.running = filled_in(data, [name for name in self.fields if name not in _PREMIUMS])
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
    """The fields that ask for one running cost, by name."""
    hint = part.hint.format(mot_age=mot_age(nation))
    if part.when is When.PREMIUMS:
        first, second, third = _PREMIUMS
        yield first, pounds(f"{part.question} in the first year", hint, example="910")
        yield second, pounds("In the second year", "Leave it empty if it stays the same.", example="790")
        yield third, pounds("In the third year and after", "Leave it empty if it stays the same.", example="720")
    elif part.when is When.BY_MILE:
        yield part.key, number(quantities.PENCE_A_MILE, part.question, hint, example=part.example, unit="p")
    else:
        yield part.key, pounds(part.question, hint, example=part.example)
    if part.life_key:
        last = "Leave it empty to count 25,000."
        yield (
            part.life_key,
            MilesField(quantities.TYRE_MILES, label="Miles a set lasts", required=False, help_text=last),
        )


class OffersFileForm(forms.Form):
    """An offers file. ``cleaned_data["file"]`` is its document; each fault is a line of the error."""

    file = forms.FileField(
        label="Offers file",
        widget=forms.FileInput(attrs={"accept": ".toml"}),
        error_messages={"required": "Choose a file.", "empty": "This file is empty."},
    )

    def __init__(self, data: Any = None, files: Any = None) -> None:
        super().__init__(data, files, label_suffix="")

    @property
    def file_name(self) -> str:
        """The file's name without its ending, as a name for the comparison."""
        return self._name.removesuffix(".toml")[:80] or "Offers"

    def clean_file(self) -> dict[str, Any]:
        """The document in the file. Raises ValidationError with every fault and its line."""
        upload: UploadedFile = self.cleaned_data["file"]
        self._name = upload.name or "file"
        if (upload.size or 0) > budgets.OFFERS_FILE_BYTES:
            raise ValidationError(TOO_LARGE, code="large")
        try:
            return document_in(self._name, upload.read())
        except BadFile as error:
            raise ValidationError(error.faults, code="faults") from error
