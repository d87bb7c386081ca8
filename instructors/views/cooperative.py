"""The co-op's settings."""

from django.http import HttpResponse

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from instructors import queries
from instructors.access import MemberRequest, coordinators_only
from instructors.actions import change_settings
from instructors.forms import SettingsForm

#: The settings that the form takes exactly as the book keeps them.
_SAME_ON_THE_FORM = (
    "name",
    "nation",
    "reminder_hour",
    "minimum_contributors",
    "closing_day",
    "rounding",
    "tyre_life_miles",
    "coordinators_need_second_factor",
    "rent_or_own_is_open",
)


@coordinators_only
@read_or_write
def settings(request: MemberRequest) -> HttpResponse:
    """Show the co-op's settings and change them."""
    cooperative = queries.cooperative()
    kept = {field: getattr(cooperative, field) for field in _SAME_ON_THE_FORM}
    percent = f"{(cooperative.depreciation_rate * 100).normalize():f}"
    form = SettingsForm(posted(request), initial=kept | {"depreciation_percent": percent})

    def save() -> HttpResponse:
        change_settings(by=request.user, **form.cleaned_data)
        # A coordinator who has just shut themselves out of these pages goes to the page that lets them in again.
        to = (
            "mfa_index"
            if queries.lacks_required_factor(request.user, queries.cooperative())
            else "instructors:settings"
        )
        return go_on(request, "Settings saved.", to)

    return form_page(request, "instructors/settings.html", form, save)
