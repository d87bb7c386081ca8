"""A member's own comparisons: the list, what is the same for every offer, and files in and out."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from config.form_page import SeeOther, button_pressed, form_page, go_on, posted, posted_files
from config.http import read_or_write
from config.showing import month
from costing.choosing.document.keys import FUEL_KEY, PENCE_A_MILE_KEY, Values
from costing.choosing.document.schema import Tables
from costing.choosing.document.toml import file_of
from costing.choosing.forms.comparisons import OffersFileForm, RunningForm, UseForm
from costing.choosing.services.comparisons import (
    comparison_for,
    comparisons_of,
    remove_comparison,
    save_running,
    save_use,
    start_comparison,
)
from costing.choosing.services.starting_figures import FROM_FILE, TYPED, use_of_records
from costing.choosing.services.stored import NewOffer, offers_of, sources_of, stored_of, use_of
from costing.models import Comparison
from instructors.access import MemberRequest
from instructors.models import Grade, Member


@require_safe
def comparison_list(request: MemberRequest) -> HttpResponse:
    """Every comparison with its offers, and which of them can't be compared yet."""
    rows = [
        {"comparison": comparison, "offers": comparison.offers.all(), "left_out": stored_of(comparison).left_out}
        for comparison in comparisons_of(request.user)
    ]
    return render(request, "costing/comparison_list.html", {"rows": rows})


@require_POST
def comparison_start(request: MemberRequest) -> HttpResponse:
    """Make a comparison that starts with the use that the member's records tell."""
    today = timezone.localdate()
    try:
        comparison = start_comparison(
            by=request.user,
            name=f"Next car, {month(today)}",
            use=use_of_records(request.user, today),
            running={},
            sources={},
        )
    except ValidationError as refusal:
        return go_on(request, " ".join(refusal.messages), "costing:comparison-list", level=messages.ERROR)
    return SeeOther("costing:comparison-use", comparison.pk)


@read_or_write
def comparison_use(request: MemberRequest, pk: int) -> HttpResponse:
    """How the car will be used, for every offer alike."""
    comparison = comparison_for(request.user, pk)
    form = UseForm(
        posted(request),
        today=timezone.localdate(),
        name=comparison.name,
        use=use_of(comparison),
        is_trainee=request.user.grade == Grade.PDI,
    )

    def save() -> HttpResponse:
        save_use(by=request.user, comparison=comparison, name=form.cleaned_data["name"], use=form.use)
        following = "comparison" if offers_of(comparison) else "offer-add"
        return go_on(request, "Saved.", f"costing:{following}", pk)

    return form_page(request, "costing/comparison_use.html", form, save, {"comparison": comparison})


@read_or_write
def comparison_running(request: MemberRequest, pk: int) -> HttpResponse:
    """Running costs that are the same for every offer, and where each figure came from."""
    comparison = comparison_for(request.user, pk)
    before = stored_of(comparison).tables["running"]
    known = sources_of(comparison)
    form = RunningForm(posted(request), running=before, sources=known)

    def save() -> HttpResponse:
        sources = {
            key: known.get(key, TYPED) if value == before.get(key) else TYPED for key, value in form.running.items()
        }
        save_running(by=request.user, comparison=comparison, running=form.running, sources=sources)
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
    tables: Tables = form.cleaned_data["file"]
    return start_comparison(
        by=member,
        name=form.file_name,
        use=tables["use"],
        running=tables["running"],
        sources=_from_file(tables["running"]),
        what_ifs=tables["what_if"],
        uncertain=tables["uncertain"],
        offers=[_offer(values) for values in tables["offer"]],
    )


def _from_file(running: Values) -> dict[str, str]:
    """Where the running costs of a file come from; fuel has one source, however it is told."""
    return {PENCE_A_MILE_KEY if key == FUEL_KEY else key: FROM_FILE for key in running}


def _offer(values: Values) -> NewOffer:
    terms = {key: value for key, value in values.items() if key not in {"name", "kind"}}
    return NewOffer(values["kind"], values["name"], terms, sources=_from_file(values.get("running", {})))


@require_safe
def comparison_file(request: MemberRequest, pk: int) -> HttpResponse:
    """The comparison as an offers file, as far as it is filled in."""
    comparison = comparison_for(request.user, pk)
    response = HttpResponse(file_of(stored_of(comparison).tables), content_type="application/toml; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="offers-{comparison.pk}.toml"'
    return response
