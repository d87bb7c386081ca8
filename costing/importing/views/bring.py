"""Bringing a file: it is chosen, its rows are looked at, and those taken are saved at once."""

from datetime import date
from typing import Any
from uuid import uuid4

from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from config import budgets
from config.form_page import Done, SeeOther, form_page, posted, posted_files, tell
from config.http import read_or_write
from config.showing import pounds
from costing.core.catalogue.costs import ENTRY_CHOICES
from costing.importing.core import ticks
from costing.importing.forms.bring import BringForm
from costing.importing.forms.rows import RowsForm, chosen_as_text, started
from costing.importing.readers.refused import Refused
from costing.importing.services import amending
from costing.importing.services.looking import Looked, total_of
from costing.importing.services.saving import bring, saved_before
from costing.importing.views.lines import chosen_of
from costing.models import Batch
from fleet.models import Car
from fleet.queries import kept_cars
from instructors.access import MemberRequest, few_at_once
from instructors.models import Member

_ROWS = "costing/bring_rows.html"
#: What rows are called, one and several.
_CALLED = {"cost": ("cost", "costs"), "fill": ("fill", "fills"), "lessons": ("record of lessons", "records of lessons")}


@read_or_write
@few_at_once
def bring_file(request: MemberRequest) -> HttpResponse:
    """Choose a file and say what it holds."""
    cars = _cars(request.user)
    if not cars:
        return render(request, "costing/no_car.html")
    form = BringForm(posted(request), posted_files(request))

    def look() -> HttpResponse:
        told = form.cleaned_data
        try:
            data = started(told["file"], told["holds"], str(uuid4()), cars)
        except Refused as refused:
            raise ValidationError({"file": str(refused)}) from refused
        rows = RowsForm(data, by=request.user, cars=cars, today=timezone.localdate())
        rows.is_valid()
        return render(request, _ROWS, {"form": rows, **_shown(rows)})

    return form_page(request, "costing/bring_file.html", form, look)


@read_or_write
@few_at_once
def bring_rows(request: MemberRequest) -> HttpResponse:
    """Look at every row, choose what is taken, and save it."""
    cars = _cars(request.user)
    data = posted(request)
    if data is None:
        return SeeOther("costing:bring-file")
    if not cars:
        return render(request, "costing/no_car.html")
    # Its own rows are in the book by now, so every one of them would look like one there.
    if "save" in data and (first := saved_before(request.user, data.get("ref", ""))):
        return _answer(request, first, is_new=False, words="Saved already, nothing was added.")
    form = RowsForm(data, by=request.user, cars=cars, today=timezone.localdate())
    if "as_fills" in data and form.sheet:
        anew = started(form.sheet, "fill", data.get("ref", ""), cars)
        form = RowsForm(anew, by=request.user, cars=cars, today=timezone.localdate())

    def save() -> HttpResponse:
        if not form.saves:
            return render(request, _ROWS, {"form": form, **_shown(form)})
        batch, is_new = bring(
            by=request.user,
            ref=form.batch,
            kind=form.kind,
            rows=form.rows,
            brimmed=bool(form.cleaned_data.get("brimmed")),
            payees=form.payees,
        )
        return _answer(request, batch, is_new=is_new, words=_told(form))

    return form_page(request, _ROWS, form, save, lambda: _shown(form))


def _cars(member: Member) -> list[Car]:
    """Return the cars that the member keeps or ever kept, those kept now first: a file may go back for years."""
    cars = kept_cars(member, since=date.min)
    return sorted(cars, key=lambda car: (car.keeper_id != member.pk, car.in_service_to is not None))


def _counted(rows: list[Looked], kind: str) -> str:
    """Return how many rows and, of money, their sum: 3 costs, £86.40 in all."""
    words = f"{len(rows):,} {_CALLED[kind][len(rows) != 1]}"
    return words if kind == "lessons" else f"{words}, {pounds(total_of(rows))} in all"


def _answer(request: MemberRequest, batch: Batch, *, is_new: bool, words: str) -> HttpResponse:
    """Go on to the entries, which then tell what was saved, with the key that undoes all of it."""
    undo = reverse("costing:batch-undo", args=[batch.pk]) if batch.undone_at is None else ""
    return tell(request, Done(is_new, words, undo), "costing:entries")


def _told(form: RowsForm) -> str:
    left = len(form.look.rows) - len(form.rows) - len(form.rest) if form.look else 0
    told = [f"Saved: {_counted(form.rows, form.kind)}."]
    told += [f"{'One row was' if left == 1 else f'{left:,} rows were'} left out and forgotten."] if left else []
    more = "One more row was" if len(form.rest) == 1 else f"{len(form.rest):,} more rows were"
    told += [f"{more} ticked: bring the same file again, and they are proposed."] if form.rest else []
    return " ".join(told)


def _shown(form: RowsForm) -> dict[str, Any]:
    """Return what the page shows of the rows: one page of them by group, and what is hidden for the others."""
    look = form.look
    columns = [field for field in form if field.name.startswith("column_")]
    if look is None:
        return {"columns": columns, "look": None}
    in_order = sorted((one for one in look.rows if not one.faults), key=lambda one: (one.group, one.place))
    page = Paginator(in_order, budgets.IMPORT_PAGE).get_page(form.data.get("to") or form.cleaned_data.get("page") or 1)
    rows = list(page.object_list)
    shown = {one.place for one in rows}
    groups = chosen_of(look, rows, form.taken_places, has_several_cars=len(form.cars) > 1)
    on_page = {one.group.number for one in groups if one.group}
    taken = form.rows
    return {
        "look": look,
        "columns": columns,
        "matched": _matched(form),
        "page": page,
        "groups": groups,
        "counted": _counted(taken, form.kind) if taken else "Nothing to save yet",
        "most": budgets.IMPORT_TAKEN,
        "taken_until": taken[-1].row.values["day"] if form.rest else None,
        "ticked": len(taken) + len(form.rest),
        "without_category": _without_category(form),
        "asked_left": sum(bool(one.asked) and one.place not in form.taken_places for one in look.rows),
        "faulty": form.faulty,
        "entry_choices": ENTRY_CHOICES,
        "hidden": {
            "ticked": ticks.write(form.taken_places - shown),
            "shown": ticks.write(shown),
            "asked": ticks.write(one.place for one in look.rows if one.asked),
            "settled": form.settled_now,
            "amended": amending.write(form.amended_now),
            "categories": chosen_as_text(look.groups, on_page),
            "page": page.number,
        },
    }


def _matched(form: RowsForm) -> list[str]:
    """Return which column was taken for what, as one says it."""
    pairs = ((field.label, field.value()) for field in form if field.name.startswith("column_"))
    return [f"{label} from {form.table.called(int(column))}" for label, column in pairs if column]


def _without_category(form: RowsForm) -> int:
    """Return how many ticked rows are left out because nobody has said what they were for."""
    if form.look is None or form.kind != "cost":
        return 0
    return sum(not one.category and not one.faults and one.place in form.taken_places for one in form.look.rows)
