"""Whether to keep the present car or to take the best offer of a comparison."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.choosing.document.checks import Unreadable
from costing.choosing.forms.assumptions import KeepOrReplaceForm
from costing.choosing.pictures.charts import years_chart
from costing.choosing.services.finding import comparison_for, letters_of
from costing.choosing.services.keep_or_replace import (
    CannotTell,
    CarIsHired,
    KeepOrReplace,
    answer,
    keep_or_replace_of,
    range_words,
)
from costing.choosing.services.stored import document_of
from fleet.core.registration import normalise
from fleet.queries import cars_of
from instructors.access import MemberRequest

_ASSUMPTIONS = {"repairs", "rise", "loss"}


@require_safe
def keep_or_replace(request: MemberRequest, pk: int) -> HttpResponse:
    """What each further year of the member's car costs, beside the best offer's equivalent yearly cost."""
    comparison = comparison_for(request.user, pk)
    today = timezone.localdate()
    cars = cars_of(request.user, today)
    wanted = normalise(request.GET.get("car", ""))
    car = next((car for car in cars if car.registration == wanted), cars[0] if cars else None)
    context = {"comparison": comparison, "kept_cars": cars, "car": car}
    if car is None:
        return render(request, "costing/keep_or_replace.html", context)
    form = KeepOrReplaceForm(request.GET if _ASSUMPTIONS & set(request.GET) else None)
    form.is_valid()
    try:
        case = document_of(comparison).case
        found = keep_or_replace_of(request.user, car, case, today, form.assumptions())
    except Unreadable:
        return render(request, "costing/keep_or_replace.html", context | {"is_unready": True})
    except CannotTell as reason:
        context |= {"reason": reason, "is_hired": isinstance(reason, CarIsHired)}
        return render(request, "costing/keep_or_replace.html", context)
    context |= {"form": form, **_shown(found, letters_of(comparison))}
    return render(request, "costing/keep_or_replace.html", context)


def _shown(found: KeepOrReplace, letters: dict[str, str]) -> dict[str, object]:
    kept = found.kept
    return {
        "found": found,
        "best_letter": letters[found.best.offer.name],
        "answer": answer(found),
        "chart": years_chart(found),
        "rise_percent": f"{100 * float(kept.repairs_rise):.1f} %",
        "loss_percent": f"{100 * float(kept.value_loss):.1f} %",
        "ranges": [
            range_words("the yearly rise in repairs", found.rise_range),
            range_words("the loss of value", found.loss_range),
        ],
    }
