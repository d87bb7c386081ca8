"""The co-op's settings."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from config.http import read_or_write
from instructors import queries
from instructors.actions import change_settings
from instructors.forms import SettingsForm
from instructors.views.access import MemberRequest, coordinators_only

#: The settings that the form asks for as the book keeps them.
_ASKED_AS_KEPT = (
    "name",
    "nation",
    "reminder_hour",
    "minimum_contributors",
    "closing_day",
    "rounding",
    "tyre_life_miles",
    "coordinators_need_second_factor",
)


@coordinators_only
@read_or_write
def settings(request: MemberRequest) -> HttpResponse:
    """The one row of settings, to be read and changed."""
    cooperative = queries.cooperative()
    kept = {field: getattr(cooperative, field) for field in _ASKED_AS_KEPT}
    percent = f"{(cooperative.depreciation_rate * 100).normalize():f}"
    form = SettingsForm(
        request.POST if request.method == "POST" else None, initial=kept | {"depreciation_percent": percent}
    )
    if request.method == "POST" and form.is_valid():
        change_settings(by=request.user, **form.cleaned_data)
        messages.success(request, "The co-op's settings are saved.")
        # Whoever has just shut these pages to themselves goes where they open them again, with word of what was saved.
        return redirect("mfa_index" if queries.lacks_required_factor(request.user) else "instructors:settings")
    return render(request, "instructors/settings.html", {"form": form})
