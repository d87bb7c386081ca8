"""A member's own comparisons: the list, the first two steps, and files in and out."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from config.form_page import SeeOther, button_pressed, form_page, go_on, posted, posted_files
from config.http import read_or_write
from config.showing import month
from costing.choosing.document.toml import file_of
from costing.choosing.forms.comparisons import OffersFileForm, RunningForm, UseForm
from costing.choosing.forms.offer_terms import step_with
from costing.choosing.services.finding import comparison_for, comparisons_of, offers_of
from costing.choosing.services.saving import (
    NewOffer,
    remove_comparison,
    save_running,
    save_use,
    start_comparison,
)
from costing.choosing.services.starting_figures import FROM_FILE, TYPED, starting_figures
from costing.choosing.services.stored import faults_of_offer, from_json, offer_table, tables_of, to_json
from costing.models import Comparison
from instructors.access import MemberRequest
from instructors.models import Member
from instructors.queries import cooperative


@require_safe
def comparison_list(request: MemberRequest) -> HttpResponse:
    """Every comparison with its offers, and the step to go on with."""
    rows = [
        {"comparison": comparison, "offers": [(offer, step_with(offer)) for offer in comparison.offers.all()]}
        for comparison in comparisons_of(request.user)
    ]
    return render(request, "costing/comparison_list.html", {"rows": rows})


@require_POST
def comparison_start(request: MemberRequest) -> HttpResponse:
    """Make a comparison that starts with figures from the records."""
    today = timezone.localdate()
    start = starting_figures(request.user, today)
    comparison = start_comparison(
        by=request.user,
        name=f"Next car, {month(today)}",
        use=to_json(start.use),
        running=to_json(start.running),
        sources=start.sources,
    )
    return SeeOther("costing:comparison-use", comparison.pk)


@read_or_write
def comparison_use(request: MemberRequest, pk: int) -> HttpResponse:
    """Step 1: how the car will be used."""
    comparison = comparison_for(request.user, pk)
    form = UseForm(
        posted(request),
        today=timezone.localdate(),
        name=comparison.name,
        use=from_json("use", comparison.use),
    )

    def save() -> HttpResponse:
        _save_use(request, comparison, form)
        return go_on(request, "Saved.", "costing:comparison-running", pk)

    return form_page(request, "costing/comparison_use.html", form, save, {"comparison": comparison})


def _save_use(request: MemberRequest, comparison: Comparison, form: UseForm) -> None:
    comparison.use = to_json(form.use)
    complete = {offer.pk for offer in offers_of(comparison) if not faults_of_offer(comparison, offer_table(offer))}
    name = form.cleaned_data["name"]
    save_use(by=request.user, comparison=comparison, name=name, use=comparison.use, complete=complete)


@read_or_write
def comparison_running(request: MemberRequest, pk: int) -> HttpResponse:
    """Step 2: what running a car costs, and where each figure came from."""
    comparison = comparison_for(request.user, pk)
    before = from_json("running", comparison.running)
    form = RunningForm(posted(request), running=before, sources=comparison.sources, nation=cooperative().nation)

    def save() -> HttpResponse:
        sources = {
            key: comparison.sources.get(key, TYPED) if value == before.get(key) else TYPED
            for key, value in form.running.items()
        }
        save_running(by=request.user, comparison=comparison, running=to_json(form.running), sources=sources)
        following = "comparison" if offers_of(comparison) else "offer-add"
        return go_on(request, "Saved.", f"costing:{following}", pk)

    return form_page(request, "costing/comparison_running.html", form, save, {"comparison": comparison})


@read_or_write
def comparison_remove(request: MemberRequest, pk: int) -> HttpResponse:
    """Ask first, then remove a comparison with all its offers."""
    comparison = comparison_for(request.user, pk)

    def remove() -> str:
        remove_comparison(by=request.user, comparison=comparison)
        return f"Removed: {comparison.name}."

    if request.method == "POST":
        return button_pressed(request, remove, "costing:comparison-list")
    return render(request, "costing/comparison_remove.html", {"comparison": comparison})


@read_or_write
def comparison_upload(request: MemberRequest) -> HttpResponse:
    """Make a comparison from an offers file, or list the file's faults by line."""
    form = OffersFileForm(posted(request), posted_files(request))

    def save() -> HttpResponse:
        return SeeOther("costing:comparison", _made_of_file(request.user, form).pk)

    return form_page(request, "costing/comparison_upload.html", form, save)


def _made_of_file(member: Member, form: OffersFileForm) -> Comparison:
    document: dict[str, Any] = form.cleaned_data["file"]
    running = document.get("running", {})
    return start_comparison(
        by=member,
        name=form.file_name,
        use=to_json(document["use"]),
        running=to_json(running),
        sources=dict.fromkeys(running, FROM_FILE),
        what_ifs=[to_json(row) for row in document.get("what_if", [])],
        uncertain=[to_json(row) for row in document.get("uncertain", [])],
        offers=[_offer(row) for row in document["offer"]],
    )


def _offer(row: dict[str, Any]) -> NewOffer:
    terms = {key: value for key, value in row.items() if key not in {"name", "kind"}}
    return NewOffer(row["kind"], row["name"].strip(), to_json(terms))


@require_safe
def comparison_file(request: MemberRequest, pk: int) -> HttpResponse:
    """The comparison as an offers file, as far as it is filled in."""
    comparison = comparison_for(request.user, pk)
    response = HttpResponse(file_of(tables_of(comparison)), content_type="application/toml; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="offers-{comparison.pk}.toml"'
    return response
