"""The rows of a file with what was chosen for them: columns, categories, and which are taken.

All of it travels in the page, and is read again from scratch whenever the page is sent.
"""

from collections.abc import Collection, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.http import QueryDict

from config import budgets
from config.fields import RefField, unmarked
from costing.core.catalogue.costs import ENTRY_CHOICES
from costing.forms.entries import CarField
from costing.importing.core import ticks
from costing.importing.core.columns import PURPOSES, Table, guessed, looks_like_fills, table_of
from costing.importing.core.rows import Settings
from costing.importing.core.sheet import Sheet, cell, letters
from costing.importing.core.sums import Sum, read_sums
from costing.importing.forms.bring import HOLDS
from costing.importing.readers.refused import Refused
from costing.importing.services import amending
from costing.importing.services.amending import Amended
from costing.importing.services.looking import BY_PAYEE, Group, Look, look_at, taken
from costing.importing.services.packing import pack, unpack
from fleet.models import Car
from instructors.models import Member

_ENTRIES = {name for name, _ in ENTRY_CHOICES}


class RowsForm(forms.Form):
    """Every row of a file. Once it is valid, ``rows`` are those to be saved, if ``saves``; ``rest`` are more than that.

    Without rows that can be read (``look`` is None) the page has nothing to show but its error.
    """

    ref = RefField()
    holds = forms.ChoiceField(choices=list(HOLDS.items()), widget=forms.HiddenInput)
    cells = forms.CharField(widget=forms.HiddenInput, max_length=budgets.IMPORT_PACKED)
    note = forms.CharField(widget=forms.HiddenInput, required=False, max_length=500)
    car = CarField()
    in_pence = forms.BooleanField(label="Its sums are in pence", required=False)
    out_is_below = forms.BooleanField(label="Money out has a minus sign", required=False)
    brimmed = forms.BooleanField(label="The tank was filled to the brim each time", required=False)
    leave_out = forms.BooleanField(label="Leave out the rows that cannot be read", required=False)
    page = forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=1, max_value=10_000)
    #: The rows ticked on other pages, those shown, those that were asked about, and by which settings: by the page.
    ticked, shown, asked, settled, categories, amended = (
        forms.CharField(widget=forms.HiddenInput, required=False, max_length=40_000) for _ in range(6)
    )
    #: What one row means instead: the value of the key that was pressed.
    meant = forms.CharField(required=False, max_length=1_000)

    def __init__(self, data: QueryDict, *, by: Member, cars: Sequence[Car], today: date) -> None:
        super().__init__(data, label_suffix="")
        self.by, self.cars, self.today = by, cars, today
        self.rows_ticked = data.getlist("row")[: budgets.IMPORT_PAGE]
        self.look: Look | None = None
        self.is_anew, self.newly_asked = False, False
        self.amended_now: Amended = {}
        self.taken_places: set[int] = set()
        self.kind = kind_of(str(data.get("holds", "")))
        self.saves = "save" in data
        self.fields["car"].offer(cars)  # type: ignore[attr-defined]
        try:
            self.sheet: Sheet | None = unpack(str(data.get("cells", "")))
        except Refused as refused:
            self.sheet, self.refusal = None, str(refused)
        if self.sheet:
            self._put_columns(table_of(self.sheet, self.kind), self.sheet)
        for name in ("in_pence", "out_is_below") if self.kind != "cost" else ():
            if name != "in_pence" or self.kind == "lessons":
                del self.fields[name]
        if self.kind != "fill":
            del self.fields["brimmed"]

    def _put_columns(self, table: Table, sheet: Sheet) -> None:
        """Ask for the column of each purpose, unless the file is a bank's own, whose columns are known."""
        self.table = table
        if sheet.is_statement:
            del self.fields["in_pence"], self.fields["out_is_below"]
            return
        columns = [("", "None")]
        for column in range(sheet.width):
            example = next((text for line in table.lines if (text := cell(line, column))), "")
            named = table.heads[column] if column < len(table.heads) and table.heads[column] else letters(column)
            columns.append((str(column), f"{named}: {example[:24]}" if example else named))
        for purpose in PURPOSES[self.kind]:
            wrong = {"invalid_choice": "Choose one of the columns.", "required": "Choose a column."}
            chosen = forms.ChoiceField(
                label=purpose.words, choices=columns, required=purpose.is_needed, error_messages=wrong
            )
            self.fields[f"column_{purpose.name}"] = unmarked(chosen)

    def clean(self) -> dict[str, Any]:
        """Read all rows anew, and see which of them are taken."""
        if self.sheet is None:
            self.add_error(None, self.refusal)
            return self.cleaned_data
        if self.errors:
            return self.cleaned_data
        settings = self._settings()
        settled = f"{sorted(settings.columns.items())}{settings[2:]}{self.cleaned_data['car'].pk}"
        self.is_anew = self.cleaned_data["settled"] != settled
        self.look = look_at(
            self.by,
            self.table,
            settings,
            cars=self.cars,
            car=self.cleaned_data["car"],
            today=self.today,
            brimmed=bool(self.cleaned_data.get("brimmed")),
            chosen=None if self.is_anew else self._categories(),
            amended={} if self.is_anew else self._amendments(),
        )
        self.settled_now = settled
        self._put_ticks(self.look)
        may_be_taken = taken(self.look, self.taken_places, self.kind)
        self.rows, self.rest = may_be_taken[: budgets.IMPORT_TAKEN], may_be_taken[budgets.IMPORT_TAKEN :]
        if self.saves:
            self._check_save(self.look)
        return self.cleaned_data

    def _settings(self) -> Settings:
        data = self.cleaned_data
        if self.sheet and self.sheet.is_statement:
            return Settings("cost", guessed(self.sheet, self.table, "cost"), out_is_below=True)
        columns = {
            purpose.name: int(data[f"column_{purpose.name}"])
            for purpose in PURPOSES[self.kind]
            if data.get(f"column_{purpose.name}")
        }
        return Settings(self.kind, columns, bool(data.get("in_pence")), bool(data.get("out_is_below")))

    def _categories(self) -> dict[int, str]:
        """The category chosen for each group, on this page and on the others."""
        chosen: dict[int, str] = {}
        for part in self.cleaned_data["categories"].split(" "):
            number, _, name = part.partition(":")
            if _is_number(number) and name in _ENTRIES:
                chosen[int(number)] = name
        for name, value in self.data.items():
            number = name.removeprefix("category-")
            if number != name and _is_number(number):
                chosen[int(number)] = value if value in _ENTRIES else ""
        return chosen

    def _amendments(self) -> Amended:
        """What was said to be meant so far, and now."""
        data = self.cleaned_data
        self.amended_now = amending.read(f"{data['amended']}&{data['meant']}", self.kind)
        return self.amended_now

    def _put_ticks(self, look: Look) -> None:
        """Take the ticks of the page; what is asked only now is left out until somebody has seen it."""
        count, data = len(look.rows), self.cleaned_data
        asked = {one.place for one in look.rows if one.asked}
        if self.is_anew:
            self.taken_places = look.first_ticked()
            return
        on_page = ticks.read(",".join(self.rows_ticked), count)
        elsewhere = ticks.read(data["ticked"], count) - ticks.read(data["shown"], count)
        ticked = elsewhere | (on_page & ticks.read(data["shown"], count))
        meant = set(amending.read(data["meant"], self.kind))
        ticked |= {one.place for one in look.rows if one.row.number in meant and not one.asked}
        newly = asked - ticks.read(data["asked"], count)
        self.newly_asked = bool(newly & ticked)
        self.taken_places = ticked - newly

    def _check_save(self, look: Look) -> None:
        if self.is_anew:
            self.add_error(None, "The rows have been read anew: look at them, then save.")
        elif self.newly_asked:
            self.add_error(None, "Some rows look like others now: see which, then save.")
        elif self.faulty and not self.cleaned_data["leave_out"]:
            count = len(self.faulty)
            rows = "One row" if count == 1 else f"{count} rows"
            self.add_error("leave_out", f"{rows} cannot be read. Mend the file, or tick this.")
        elif not self.rows:
            what = "is ticked and has a category" if self.kind == "cost" else "is ticked"
            self.add_error(None, f"No row {what}, so there is nothing to save.")

    @property
    def has_fills(self) -> bool:
        """Whether it is read as payments, but looks like a list of fills."""
        return self.kind == "cost" and self.sheet is not None and looks_like_fills(self.sheet)

    @property
    def faulty(self) -> list[str]:
        """Why rows cannot be read, with row and column."""
        return [fault for one in self.look.rows for fault in one.faults] if self.look else []

    @property
    def payees(self) -> dict[str, str]:
        """The category of each payee of whom rows are taken, by the name in lower case."""
        if self.look is None or self.look.grouped_by != BY_PAYEE:
            return {}
        named = ((str(one.row.values.get("payee", "")).lower(), one.category) for one in self.rows)
        return {name: category for name, category in named if name}

    @property
    def batch(self) -> UUID:
        """The id of the batch as which the rows are saved."""
        return UUID(self.cleaned_data["ref"])


def _is_number(text: str) -> bool:
    """Whether a text may be the number of a group: of thousands of digits Python makes no number."""
    return text.isdecimal() and len(text) < 7


def kind_of(holds: str) -> str:
    """Return which kind of entry a file's rows become."""
    return "cost" if holds not in PURPOSES else holds


def started(sheet: Sheet, holds: str, ref: str, cars: Sequence[Car]) -> QueryDict:
    """Return what the page of rows starts with: columns as guessed, the first car. Raises Refused if it is too much."""
    kind = kind_of(holds)
    table = table_of(sheet, kind)
    columns = guessed(sheet, table, kind)
    if holds == "statement":
        # A bank's kinds of payment, such as a direct debit, are no categories.
        columns.pop("category", None)
    data = QueryDict(mutable=True)
    data.update({"ref": ref, "holds": holds, "cells": pack(sheet), "note": sheet.note[:500]})
    data.update({f"column_{name}": str(column) for name, column in columns.items()})
    data["car"] = cars[0].registration
    data["brimmed"] = "on"
    if "amount" in columns:
        texts = [cell(line, columns["amount"]) for line in table.lines]
        below = any(isinstance(one, Sum) and one.value < 0 for one in read_sums(texts, places=2))
        data.update({"out_is_below": "on"} if holds == "statement" and below else {})
        data.update({"in_pence": "on"} if "pence" in table.called(columns["amount"]).lower() else {})
    return data


def chosen_as_text(groups: Sequence[Group], shown: Collection[int]) -> str:
    """Return the categories of the groups that are not on this page, as one short text."""
    return " ".join(f"{one.number}:{one.category}" for one in groups if one.category and one.number not in shown)
