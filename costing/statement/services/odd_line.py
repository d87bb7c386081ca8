"""What stands out in one line, for a page that leads to the rest."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date

from django.urls import reverse

from config.showing import in_words
from costing.core.catalogue.costs import COST_CATEGORIES, SERVICING
from costing.core.records import CarBook
from costing.statement.core.odd import Finding, Kind, odd
from costing.wording.lines import Line
from fleet.models import Car

_NAMES = {
    Kind.ECONOMY: "fuel economy",
    Kind.JUMP: "the odometer",
    Kind.FILL: "a fill that may be missing",
    Kind.LESSONS: "lessons",
    Kind.SERVICING: SERVICING.words.lower(),
}
#: So many things are named.
_NAMED = 2


def odd_line(
    cars: Iterable[Car], books: Mapping[int, CarBook], dismissed: Collection[tuple[int, str, str]], today: date
) -> Line | None:
    """Say what stands out in a member's own books, as `odd_things` takes them; None if nothing does.

    ``dismissed`` are the car id, kind and key of what is not to be shown. It takes no query.
    """
    found = [(car, one) for car in cars for one in odd(books[car.pk], today)]
    shown = [one for car, one in found if (car.pk, one.kind.value, one.key) not in dismissed]
    shown.sort(key=lambda one: one.grave)
    return Line(count_words(shown), reverse("costing:odd-list"), "check") if shown else None


def count_words(shown: Sequence[Finding]) -> str:
    """Say how much stands out, gravest first: "Two things look odd: insurance and fuel economy"."""
    names = list(dict.fromkeys(name_of(finding) for finding in shown))
    if len(shown) == 1:
        return f"One thing looks odd: {names[0]}"
    many = in_words(len(shown)).capitalize()
    if len(names) > _NAMED:
        return f"{many} things look odd, first {' and '.join(names[:_NAMED])}"
    return f"{many} things look odd: {' and '.join(names)}"


def name_of(finding: Finding) -> str:
    """What it is about, in a word or two within a sentence."""
    if finding.kind in _NAMES:
        return "miles on a charge" if (finding.kind, finding.about) == (Kind.ECONOMY, "kwh") else _NAMES[finding.kind]
    words = COST_CATEGORIES[finding.about].words
    return words if words == words.upper() else words[0].lower() + words[1:]
