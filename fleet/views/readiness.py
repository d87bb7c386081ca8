"""Whether a car has what it needs for its first lessons and for a practical test day."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.http import read_or_write
from config.pdf import pdf_response, render_pdf
from fleet import queries
from fleet.actions import confirm_points
from fleet.core.findings import readiness
from fleet.core.registration import show
from fleet.core.requirements import LISTS
from fleet.forms import ConfirmationForm
from fleet.models import Car
from fleet.views import MemberRequest
from fleet.views.answers import put_refusal
from fleet.views.findings import in_words


@read_or_write
def ready(request: MemberRequest, mark: str) -> HttpResponse:
    """A car against each list, and the points that somebody has to look at and answer."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    facts = queries.facts_of(car, today)
    form = ConfirmationForm(request.POST if request.method == "POST" else None, answers=facts.answers, today=today)
    if request.method == "POST" and form.is_valid() and (answer := _confirm(request, form, car)):
        return answer
    lists = [in_words(readiness(points, facts)) for points in LISTS.values()]
    return render(request, "fleet/ready.html", {"car": car, "lists": lists, "form": form})


def _confirm(request: MemberRequest, form: ConfirmationForm, car: Car) -> HttpResponse | None:
    """Write down what the form says; None if the book does not allow it, which the form then shows."""
    try:
        written = confirm_points(by=request.user, car=car, **form.cleaned_data)
    except ValidationError as refusal:
        put_refusal(form, refusal)
        return None
    count = len(written)
    in_book = f"{count} answer{' is' if count == 1 else 's are'} in the book."
    messages.success(request, in_book if count else "Already in the book, nothing was added.")
    return redirect("fleet:ready", car.registration)


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
