"""What stands out in a member's own book: listed, dismissed with a reason, shown again."""

from datetime import date

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from costing.actions import dismiss, take_back
from costing.queries.dismissals import dismissal_for
from costing.statement.core.odd import seen
from costing.statement.forms.odd import DismissForm
from costing.statement.pictures.odd import row_of, seen_words
from costing.statement.services.odd import OddThing, odd_books, odd_things
from costing.statement.services.odd_line import count_words
from costing.wording.service import had_no_car
from fleet.queries import has_ever_kept
from instructors.access import MemberRequest
from instructors.models import Member


@require_safe
def odd_list(request: MemberRequest) -> HttpResponse:
    """List what stands out in the last year, gravest first, and below it what was dismissed."""
    today = timezone.localdate()
    cars, books = odd_books(request.user, today)
    things = odd_things(request.user, cars, books, today)
    shown = [thing for thing in things if thing.dismissal is None]
    context = {
        "verdict": count_words([thing.finding for thing in shown]) if shown else "",
        "rows": [row_of(thing, today) for thing in shown],
        "dismissed": [row_of(thing, today) for thing in things if thing.dismissal],
        "has_kept": bool(cars) or has_ever_kept(request.user),
        "no_car": had_no_car("in the last twelve months"),
        "seen": [seen_words(car.registration, seen(books[car.pk], today)) for car in cars],
    }
    return render(request, "costing/odd_list.html", context)


@read_or_write
def odd_dismiss(request: MemberRequest, mark: str, kind: str, rests_on: str) -> HttpResponse:
    """Dismiss one thing, with a reason."""
    today = timezone.localdate()
    thing = _thing(request.user, (mark, kind, rests_on), today)
    form = DismissForm(posted(request))

    def save() -> HttpResponse:
        dismiss(by=request.user, car=thing.car, kind=kind, key=rests_on, **form.cleaned_data)
        return go_on(request, "Dismissed. It stands below, with your reason.", "costing:odd-list")

    return form_page(request, "costing/odd_dismiss.html", form, save, {"row": row_of(thing, today)})


def _thing(member: Member, names: tuple[str, str, str], today: date) -> OddThing:
    """What the mark of a car, a kind and a key name, dismissed or not. Raises Http404 if nothing like it stands out."""
    for thing in odd_things(member, *odd_books(member, today), today):
        if names == (thing.car.registration, thing.finding.kind, thing.finding.key):
            return thing
    raise Http404


@require_POST
def odd_again(request: MemberRequest, pk: int) -> HttpResponse:
    """Take a dismissal back, so that the thing is shown again."""
    take_back(by=request.user, dismissal=dismissal_for(request.user, pk))
    return go_on(request, "It is shown again.", "costing:odd-list")
