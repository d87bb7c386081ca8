"""Whether a car has what it needs for its first lessons and for a practical test day."""

from django.http import Http404, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.pdf import pdf_response, render_pdf
from fleet import queries
from fleet.actions import confirm_points
from fleet.core.findings import readiness
from fleet.core.registration import show
from fleet.core.requirements import LISTS
from fleet.forms import ConfirmationForm
from fleet.views.findings import in_words
from instructors.access import MemberRequest


@read_or_write
def ready(request: MemberRequest, mark: str) -> HttpResponse:
    """A car against each list, and the points that somebody has to look at and answer."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    facts = queries.facts_of(car, today)
    form = ConfirmationForm(posted(request), answers=facts.answers, today=today)

    def save() -> HttpResponse:
        count = len(confirm_points(by=request.user, car=car, **form.cleaned_data))
        in_book = f"{count} answer{' is' if count == 1 else 's are'} in the book."
        words = in_book if count else "Already in the book, nothing was added."
        return go_on(request, words, "fleet:ready", car.registration)

    lists = [in_words(readiness(points, facts)) for points in LISTS.values()]
    return form_page(request, "fleet/ready.html", form, save, {"car": car, "lists": lists})


@require_safe
def ready_sheet(request: MemberRequest, mark: str, name: str) -> HttpResponse:
    """One list on paper."""
    car = queries.car_for(request.user, mark)
    if name not in LISTS:
        raise Http404
    today = timezone.localdate()
    words = in_words(readiness(LISTS[name], queries.facts_of(car, today)))
    pdf = render_pdf("fleet/pdf/ready.html", {"car": car, "list": words, "today": today})
    return pdf_response(pdf, f"{show(car.registration)} {name} {today}.pdf")
