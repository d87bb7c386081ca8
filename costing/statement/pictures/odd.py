"""What stands out, in words: what it is, why, and the place where it is put right. It claims no fault of a car."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple
from urllib.parse import urlencode

from django.urls import reverse

from config.showing import day, in_words, percent, span_of, whole
from costing.core.catalogue.costs import COST_CATEGORIES, INSURANCE, VEHICLE_TAX
from costing.core.money import divide_half_up, to_places
from costing.core.periods import ONE_DAY
from costing.models import Dismissal
from costing.statement.core.odd import ENOUGH, Fall, Finding, Kind, Seen
from costing.statement.services.odd import OddThing
from fleet.core.registration import show


class Way(NamedTuple):
    """Words and the address that they lead to."""

    words: str
    to: str


class OddRow(NamedTuple):
    """One thing as the page shows it; ``way`` opens the place, ``dismissal`` says who dismissed it, when and why."""

    title: str
    why: str
    way: Way
    mark: str
    to_dismiss: str
    dismissal: Dismissal | None


def row_of(thing: OddThing, today: date) -> OddRow:
    """Return one thing as a row."""
    finding, mark = thing.finding, thing.car.registration
    title, why = _WORDS[finding.kind](finding, today)
    return OddRow(
        title,
        why,
        _way(thing),
        show(mark),
        reverse("costing:odd-dismiss", args=[mark, finding.kind.value, finding.key]),
        thing.dismissal,
    )


def economy_words(fall: Fall) -> str:
    """Say why a fallen economy stands out; it also stands under the picture of the economy."""
    unit, what = (" miles per kWh", "charges") if fall.unit == "kwh" else (" mpg", "tanks")
    first, (since, before) = day(fall.began.begins_on), _shown(fall)
    return (
        f"Lower than its usual ups and downs for {in_words(fall.tanks)} full {what}: {since}{unit} since {first}, "
        f"{before} over the {fall.tanks_before} before. That is more than chance or winter would explain. "
        "Tyre pressures first, then the handbook or a technician."
    )


def _economy(finding: Finding, today: date) -> tuple[str, str]:
    assert finding.fall is not None  # noqa: S101 - a finding of this kind has it
    since, before = _shown(finding.fall)
    # What the test found is the median of all pairs; what is said follows from the two figures beside it.
    by = divide_half_up(Fraction(before - since) * 100, Fraction(before)) if since < before else 0
    if finding.about == "kwh":
        what = f"{percent(by)} fewer miles on a charge" if by else "Fewer miles on a charge"
    else:
        what = f"Fuel economy is down by {percent(by)}" if by else "Fuel economy is down"
    return what, economy_words(finding.fall)


def _shown(fall: Fall) -> tuple[Decimal, Decimal]:
    """The economy since the fall and before it, as they are said."""
    figure = "miles_per_kwh" if fall.unit == "kwh" else "miles_per_gallon"
    since, before = (to_places(getattr(one, figure), 1) for one in (fall.since, fall.before))
    return since, before


def _cover(finding: Finding, today: date) -> tuple[str, str]:
    name, days = COST_CATEGORIES[finding.about].words, finding.figures["days"]
    held = f"{whole(days)} day{'' if days == 1 else 's'}, {span_of(finding.first, finding.last)}"
    if finding.first > today:
        return f"{name}: a gap to come", f"Nothing that you logged covers {held}, between two covers. Check the days."
    if finding.is_open and finding.figures["followed"]:
        return (
            f"{name}: nothing since {day(finding.first)}",
            f"The next cover that you logged begins on {day(finding.last + ONE_DAY)}. Check the days.",
        )
    if finding.is_open:
        return (
            f"{name}: nothing since {day(finding.first)}",
            f"No cover that you logged goes on after that day.{_LOOK_UP.get(finding.about, '')} "
            "If it was renewed, log it; if it was cancelled for good, dismiss this.",
        )
    return (
        f"{name}: a gap of {whole(days)} day{'' if days == 1 else 's'}",
        f"Nothing that you logged covers {span_of(finding.first, finding.last)}, though the car was yours then. "
        "The days of one of the two covers may be wrong, or one was not logged.",
    )


_LOOK_UP = {
    INSURANCE.name: " The policy itself says until when it runs.",
    VEHICLE_TAX.name: " The government’s vehicle enquiry says until when it is taxed.",
}


def _jump(finding: Finding, today: date) -> tuple[str, str]:
    miles, days = whole(finding.figures["miles"]), finding.figures["days"]
    within = "a day" if days == 1 else f"{in_words(days)} days"
    return (
        f"{miles} miles in {within}",
        f"Between the readings of {day(finding.first)} and {day(finding.last)} the odometer ran further than any car "
        "does. One of the two is probably wrong.",
    )


def _fill(finding: Finding, today: date) -> tuple[str, str]:
    figures = finding.figures
    if finding.is_open:
        return (
            f"No fill for {whole(figures['miles'])} miles",
            f"The last one that you logged is of {day(finding.first)}. There are usually {whole(figures['usual'])} "
            f"miles between two, and there were never more than {whole(figures['most'])}.",
        )
    what, unit = ("charge", "kWh") if finding.about == "kwh" else ("fill", "litres")
    quantity = f"{finding.figures['thousandths'] / 1000:.1f} {unit}"
    return (
        f"A {what} may be missing before {day(finding.last)}",
        f"Since the full one of {day(finding.first)} you went {whole(figures['miles'])} miles on {quantity}, which "
        f"usually take you {whole(figures['usual'])}. If one between is not in the book, say so on this one.",
    )


def _lessons(finding: Finding, today: date) -> tuple[str, str]:
    miles, days = whole(finding.figures["miles"]), finding.figures["days"]
    return (
        f"No lessons since {day(finding.first)}",
        f"The odometer moved {miles} miles in the {days} days after it. If you taught none, say so: none counts too.",
    )


def _silent(finding: Finding, today: date) -> tuple[str, str]:
    name, figures = COST_CATEGORIES[finding.about].words, finding.figures
    return (
        f"{name}: nothing for {figures['days']} days",
        f"It came every {figures['usual']} days or so, last on {day(finding.first)}. If it has ended, dismiss this.",
    )


def _servicing(finding: Finding, today: date) -> tuple[str, str]:
    miles = whole(finding.figures["miles"])
    return (
        f"No service in {miles} miles",
        f"Nothing is logged under servicing since {day(finding.first)}. If it was done, log what it cost; the handbook "
        "says how far a car goes between two.",
    )


_WORDS: dict[Kind, Callable[[Finding, date], tuple[str, str]]] = {
    Kind.COVER: _cover,
    Kind.ECONOMY: _economy,
    Kind.JUMP: _jump,
    Kind.FILL: _fill,
    Kind.LESSONS: _lessons,
    Kind.SILENT: _silent,
    Kind.SERVICING: _servicing,
}


def _way(thing: OddThing) -> Way:
    """Where it is put right: the entry, the list of entries, or the page that logs what is missing."""
    finding, mark = thing.finding, thing.car.registration
    if finding.kind is Kind.LESSONS:
        return Way("Log your lessons", reverse("costing:teaching-log"))
    if finding.kind is Kind.SERVICING:
        return Way("Log the service", reverse("costing:cost-log"))
    if finding.kind is Kind.FILL and finding.entry:
        return Way("Open it", reverse("costing:entry-correct", args=["fill", finding.entry]))
    if finding.kind is Kind.FILL:
        return Way("Log the fill", reverse("costing:fill-log"))
    if finding.kind in {Kind.COVER, Kind.SILENT}:
        return Way("See what is logged", _entries(mark, category=finding.about))
    return Way("See the fills", _entries(mark, kind="fill", first=finding.first, last=finding.last))


def _entries(mark: str, **asked: object) -> str:
    return f"{reverse('costing:entries')}?{urlencode({**asked, 'car': mark})}"


class SeenCar(NamedTuple):
    """What there was to look at of one car, in sentences."""

    mark: str
    sentences: list[str]


def seen_words(mark: str, seen: Seen) -> SeenCar:
    """Say what of a car was looked at, and what there is too little of."""
    return SeenCar(show(mark), [*_economy_seen(seen), *_covers_seen(seen), _miles_seen(seen)])


def _economy_seen(seen: Seen) -> list[str]:
    if seen.takes_both:
        return ["Economy: a car that takes both fuel and charge has no one figure to compare."]
    if not any(seen.stretches.values()):
        return [f"Economy: no two full tanks or charges yet. It takes {ENOUGH} to tell."]
    ((unit, number),) = seen.stretches.items()
    what = "charge" if unit == "kwh" else "tank"
    if number < ENOUGH:
        many = f"{in_words(number)} full {what}{'' if number == 1 else 's'}"
        return [f"Economy: {many} so far. It takes {ENOUGH} to tell."]
    return [f"Economy: {number} full {what}s, the last ones against earlier ones."]


def _covers_seen(seen: Seen) -> list[str]:
    return [
        f"{COST_CATEGORIES[name].words}: the days from {span_of(*days)}." for name, days in seen.covers.items()
    ] or ["Insurance and tax: no days of cover are logged."]


def _miles_seen(seen: Seen) -> str:
    if not seen.readings:
        return "Odometer: no reading yet."
    return f"Odometer: {whole(seen.readings)} day{'' if seen.readings == 1 else 's'} with a reading or a fill."
