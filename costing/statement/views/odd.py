"""What stands out in a member's own book: listed, dismissed with a reason, shown again."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from costing.actions import dismiss, take_back
from costing.queries.dismissals import dismissal_for
from costing.statement.forms.odd import DismissForm
from costing.statement.pictures.odd import row_of, seen_words
from costing.statement.services.odd import odd_books, odd_report
from costing.statement.services.odd_line import count_words
from instructors.access import MemberRequest


@require_safe
def odd_list(request: MemberRequest) -> HttpResponse:
    """List what stands out in the last year, gravest first, and below it what was dismissed."""
    today = timezone.localdate()
    report = odd_report(request.user, odd_books(request.user, today), today)
    context = {
        "verdict": count_words(report.shown) if report.shown else "",
        "rows": [row_of(thing, today) for thing in report.shown],
        "dismissed": [row_of(thing, today) for thing in report.dismissed],
        "seen": [seen_words(car.registration, seen) for car, seen in report.seen.items()],
    }
    return render(request, "costing/odd_list.html", context)


@read_or_write
def odd_dismiss(request: MemberRequest, mark: str, kind: str, key: str) -> HttpResponse:
    """Dismiss one thing, with a reason."""
    today = timezone.localdate()
    thing = odd_report(request.user, odd_books(request.user, today), today).thing(mark, kind, key)
    if thing is None:
        raise Http404
    form = DismissForm(posted(request))

    def save() -> HttpResponse:
        dismiss(by=request.user, car=thing.car, kind=kind, key=key, **form.cleaned_data)
        return go_on(request, "Dismissed. It stands below, with your reason.", "costing:odd-list")

    return form_page(request, "costing/odd_dismiss.html", form, save, {"row": row_of(thing, today)})


@require_POST
def odd_again(request: MemberRequest, pk: int) -> HttpResponse:
    """Take a dismissal back, so that the thing is shown again."""
    take_back(by=request.user, dismissal=dismissal_for(request.user, pk))
    return go_on(request, "It is shown again.", "costing:odd-list")
