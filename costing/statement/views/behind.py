"""From a figure of the true cost to the entries behind it, each with the part of it that falls into the period."""

from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.core.catalogue.costs import GROUPS_ASKED_FOR
from costing.forms.periods import BehindForm
from costing.queries import cars_with_money_of
from costing.queries.listing import PAGE_LENGTH
from costing.statement.pictures.entries import lines_of
from costing.statement.pictures.periods import address_of
from costing.statement.report import statement
from costing.wording.periods import title_of
from costing.wording.service import had_no_car
from instructors.access import MemberRequest


@require_safe
def behind_figure(request: MemberRequest) -> HttpResponse:
    """List the entries that the address' figure of the true cost rests on; what they add up to is the figure."""
    cars = cars_with_money_of(request.user)
    form = BehindForm(request.GET, today=timezone.localdate(), cars=cars)
    context = {"form": form, "has_several": len(cars) > 1, "page_query": ""}
    if not form.is_valid():
        return render(request, "costing/behind_figure.html", context)
    period, car, category = form.cleaned_data["period"], form.chosen_car, form.cleaned_data["category"]
    whole = statement(request.user, period, car=car)
    found = whole and whole.behind(category)
    asked = {name: request.GET[name] for name in form.fields if request.GET.get(name)}
    page = Paginator(found.entries if found else [], PAGE_LENGTH).get_page(request.GET.get("page"))
    context |= {
        "found": found,
        "cost": whole and whole.cost,
        "title": title_of(period),
        "label": form.label,
        "no_car": had_no_car(),
        "car": car,
        "category": category,
        "page": page,
        "rows": lines_of(page.object_list, period),
        "to_statement": address_of(period, car),
        # The list of entries knows no groups.
        "query": urlencode({name: value for name, value in asked.items() if value not in GROUPS_ASKED_FOR}),
        "page_query": f"{urlencode(asked)}&",
    }
    return render(request, "costing/behind_figure.html", context)
