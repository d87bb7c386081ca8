"""What is the same for every offer of a comparison, and an offers file."""

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import groupby
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.forms import BoundField

from config import budgets
from config.fields import put_today, unmarked
from costing.choosing.document.checks import faults_of_running, faults_of_use
from costing.choosing.document.keys import RUNNING, Values, keys_of_part
from costing.choosing.document.schema import USE, Tables
from costing.choosing.document.toml import TOO_LARGE, BadFile, document_in
from costing.choosing.forms.fields import NameField
from costing.choosing.forms.folds import Fold, fold_of, names_in, rows_of
from costing.choosing.forms.offer_words import source_words
from costing.choosing.forms.several import fields_of, put_faults, shown, told_in
from costing.core.catalogue.running import AS_ASKED

#: What most people leave empty, in the order of the page.
_PURSE = ("cash_in_hand", "put_by_per_month", "marginal_tax_rate", "discount_rate")
_TO_LEAVE = (
    "Give each month in which you might have to give the car up, and how likely that is. What is left of 100% stays "
    "to the end of the plan.",
)
#: For a trainee. ADI and PDI: three attempts at parts 2 and 3 (Motor Cars (Driving Instruction) Regulations 2005).
_TO_QUALIFY = (
    "You have three attempts at part 2 and three at part 3. Give each month in which you might have to stop, because a "
    "last attempt failed or your trainee licence ended before the test, and how likely that is.",
    "From then on there are no paid lessons, and the payments run on until you are out of the agreement. What is left "
    "of 100% stays to the end of the plan.",
)


class UseForm(forms.Form):
    """How the car will be used. Once the form is valid, ``use`` is that table of the document in its typed form."""

    name = NameField(label="A name for this comparison")

    def __init__(self, data: Any = None, *, today: date, name: str, use: Values, is_trainee: bool) -> None:
        super().__init__(data, label_suffix="")
        self.before, self.is_trainee = use, is_trainee
        for key in USE:
            self.fields.update(fields_of(key))
        for field in self.fields.values():
            unmarked(field)
        self.initial = {"name": name, **shown(USE, use)}
        put_today(self.fields, today)

    @property
    def rows(self) -> list[BoundField]:
        """What every comparison needs."""
        return rows_of(self, ["name", *names_in(key for key in USE if key.required)])

    @property
    def folds(self) -> list[Fold]:
        """What may be left empty. For a trainee leaving early is open, in words of attempts."""
        by_name = {key.name: key for key in USE}
        leaving = fold_of(self, "leaving", "You might leave before the end", [by_name["leaving"]])
        notes = _TO_QUALIFY if self.is_trainee else _TO_LEAVE
        return [
            fold_of(self, "purse", "Your cash, tax and interest", [by_name[name] for name in _PURSE]),
            leaving._replace(notes=notes, is_open=self.is_trainee or leaving.is_open),
        ]

    def clean(self) -> dict[str, Any]:
        """Check the table by the document's own rules."""
        self.use = told_in(self, USE, self.before)
        if not self.errors:
            put_faults(self, faults_of_use(self.use))
        return self.cleaned_data


class RunningForm(forms.Form):
    """Running costs that are the same for every offer. Once the form is valid, ``running`` has their typed values.

    ``sources`` says where the figure of each key came from.
    """

    def __init__(self, data: Any = None, *, running: Values, sources: Mapping[str, str]) -> None:
        super().__init__(data, label_suffix="")
        self.before = running
        for key in RUNNING:
            self.fields.update(fields_of(key, with_range=True))
        self.initial = shown(RUNNING, running)
        words = source_words(sources)
        for name, field in self.fields.items():
            unmarked(field).help_text = f"{field.help_text} {words.get(name, '')}".strip()

    def groups(self) -> Iterator[tuple[str, list[BoundField], list[BoundField]]]:
        """The rows and those of their ranges, by what the money goes on."""
        for group, parts in groupby(AS_ASKED, key=lambda part: part.group):
            keys = [key for part in parts for key in keys_of_part(part)]
            yield group.value, rows_of(self, names_in(keys)), rows_of(self, names_in(keys, ranges=True))

    def clean(self) -> dict[str, Any]:
        """Check the table by the document's own rules."""
        self.running = told_in(self, RUNNING, self.before)
        if not self.errors:
            put_faults(self, faults_of_running(self.running))
        return self.cleaned_data


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

    def clean_file(self) -> Tables:
        """The typed tables of the file. Raises ValidationError with every fault and its line."""
        upload: UploadedFile = self.cleaned_data["file"]
        self._name = upload.name or "file"
        if (upload.size or 0) > budgets.OFFERS_FILE_BYTES:
            raise ValidationError(TOO_LARGE, code="large")
        try:
            return document_in(self._name, upload.read())
        except BadFile as error:
            raise ValidationError(error.faults, code="faults") from error
