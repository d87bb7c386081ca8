"""What the page of a statement shows of it: groups that open, sentences, and the group's figure beside it."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple
from urllib.parse import urlencode

from django.urls import reverse

from config.charts.dial import LessonHourDial
from config.charts.pound import EachPound
from config.showing import day, hours, hours_taught, pence_as_pounds, percent, whole
from costing.charts import each_pound
from costing.core.catalogue.costs import (
    COST_CATEGORIES,
    DEPRECIATION,
    INSTALMENT_CATEGORIES,
    INTEREST,
    RENTAL,
    CostGroup,
)
from costing.core.missing import of_lessons
from costing.core.money import to_places
from costing.core.periods import month_of, months_ending
from costing.core.records import Period
from costing.core.running_cost import MILES, RunningCost
from costing.report import group_view
from costing.statement.pictures.entries import EntryLine, lines_of
from costing.statement.pictures.periods import PeriodChip, address_of
from costing.statement.report import Statement, StatementLine
from costing.wording import fill_words, missing
from costing.wording.service import had_no_car
from fleet.core.registration import show
from fleet.models import Car
from instructors.models import Cooperative

#: So many entries of a category stand on the page; the others a tap further.
MOST_ENTRIES = 8
#: Where on a car's page of its cost stands what a category rests on that is not made of entries.
_HELD = {INTEREST.name: "#held", RENTAL.name: "#held", DEPRECIATION.name: "#worth"}


class Link(NamedTuple):
    """Words that lead somewhere."""

    words: str
    address: str


class LineRow(NamedTuple):
    """A category as its group opens it: its latest entries, the way to all of them, and to what no entry tells.

    ``true_cost`` and ``money_out`` are its figures as the table shows them.
    """

    line: StatementLine
    true_cost: str
    money_out: str
    entries: list[EntryLine]
    to_all: Link | None
    held: list[Link]


class GroupRow(NamedTuple):
    """A group of costs with the rows that it opens; ``is_alone`` if no other category has its tone."""

    group: CostGroup
    true_cost: str
    money_out: str
    is_alone: bool
    lines: list[LineRow]


def groups_of(statement: Statement) -> list[GroupRow]:
    """The groups of a statement, each with what it opens."""
    return [
        GroupRow(
            *(group.group, figure_of(group.pence), figure_of(group.money_out), group.group.is_of_one),
            [_row(statement, line) for line in group.lines],
        )
        for group in statement.groups
    ]


class Pound(NamedTuple):
    """Where each pound went: the heading, the drawing, and what the table's total is of."""

    heading: str
    chart: EachPound | None
    total: str


def pound_of(statement: Statement) -> Pound:
    """Where each pound of a statement went, by its cars' fuel; of what is known alone where something is left out."""
    cost, fuels = statement.cost, fill_words([car.fuel for car in statement.cars])
    fuel = CostGroup.FUEL.spoken if fuels.is_of_both else fuels.what
    amounts = [(group.group, group.pence) for group in statement.groups]
    chart = each_pound(amounts, fuel, is_partial=cost.is_partial)
    if cost.is_partial:
        return Pound("Each pound of what is known", chart, f"What is known of {statement.title}")
    whole_of = "the car cost" if len(statement.cars) == 1 else "the cars cost"
    return Pound(f"Each pound of what {whole_of}", chart, statement.title)


def figure_of(pence: int) -> str:
    """A sum as the table shows it below its pound sign: 1,234.56, and a dash for nothing."""
    return pence_as_pounds(pence).replace("£", "") if pence else "–"


def _row(statement: Statement, line: StatementLine) -> LineRow:
    count = len(line.entries)
    return LineRow(
        *(line, figure_of(line.pence), figure_of(line.money_out)),
        lines_of(line.entries[:MOST_ENTRIES], statement.period),
        Link(f"All {whole(count)} entries", _all_of(statement, line)) if count > MOST_ENTRIES else None,
        _held_at(statement, line),
    )


def _all_of(statement: Statement, line: StatementLine) -> str:
    """Where all entries of a category stand: what was paid of instalments, else what its figure rests on."""
    page = "costing:entries" if line.category in INSTALMENT_CATEGORIES else "costing:behind-figure"
    return f"{address_of(statement.period, statement.car, page)}&{urlencode({'category': line.category})}"


def _held_at(statement: Statement, line: StatementLine) -> list[Link]:
    place = _HELD.get(line.category)
    if place is None or not line.held:
        return []
    words = "What it is worth" if place == "#worth" else "How you hold it"
    several = len(statement.cars) > 1
    return [
        Link(
            f"{words}: {show(car.registration)}" if several else words,
            f"{reverse('costing:car-cost', args=[car.registration])}{place}",
        )
        for car in statement.cars
    ]


class Fact(NamedTuple):
    """A figure with its name, in words."""

    name: str
    value: str


def use_of(statement: Statement) -> list[Fact]:
    """What the cars were used for, and what the figures rest on."""
    cost, share = statement.cost, share_of(statement.cost)
    told = "not entered" if cost.tells_lessons else "not known"
    return [
        Fact("Miles", _or("not known", cost.miles_shown, whole)),
        Fact("Private miles", _or(told, used(cost, cost.private_miles), whole)),
        Fact("Business share", "not known" if share is None else _share_shown(share)),
        Fact("Lessons", _or(told, used(cost, cost.lessons), whole)),
        Fact("Hours taught", _or(told, used(cost, cost.minutes), hours)),
        Fact("A mile", _or("not known", cost.cost_per_mile, pence_as_pounds)),
        Fact("A lesson", _or("not known", cost.cost_per_lesson, pence_as_pounds)),
        Fact("A lesson hour", _or("not known", cost.cost_per_lesson_hour, pence_as_pounds)),
        *pooled(statement),
    ]


def why_no_use(statement: Statement) -> str:
    """Why nothing is known of the lessons; empty if something is."""
    if statement.cost.tells_lessons:
        return ""
    several = len(statement.reports) > 1
    reasons = dict.fromkeys(
        f"{show(report.car.registration)}: {missing(found)}" if several else missing(found)
        for report in statement.reports
        for found in of_lessons(report.cost.missing)
    )
    return f"Lessons, hours and private miles are not known: {'; '.join(reasons)}."


def used(cost: RunningCost, told: int | None) -> int | None:
    """What records of lessons come to, shown; None while they lack and come to nothing: that is no zero."""
    return told if cost.tells_lessons else None


def share_of(cost: RunningCost) -> Fraction | None:
    """The business share, 0 to 1, shown; likewise."""
    return cost.business_share if cost.tells_lessons else None


def _or(absent: str, value: int | None, words_of: Callable[[int], str]) -> str:
    return absent if value is None else words_of(value)


def sentence_of(statement: Statement) -> str:
    """The use in a sentence: 1,488 miles, business share 95.2%, 100 hours taught."""
    cost, share, miles = statement.cost, share_of(statement.cost), statement.cost.miles_shown
    parts = [
        "miles not known" if miles is None else f"{whole(miles)} mile{'' if miles == 1 else 's'}",
        "" if share is None else f"business share {_share_shown(share)}",
        _hours(used(cost, cost.minutes)),
    ]
    words = ", ".join(filter(None, parts))
    return " ".join([f"{words[:1].upper()}{words[1:]}.", *_economy(statement)])


def _economy(statement: Statement) -> Iterator[str]:
    """The economy that is known, a sentence for what is filled and one for what is charged."""
    for full, facts in (("tank", _of_litres(statement)), ("charge", _of_kwh(statement))):
        if facts:
            told = ", ".join(f"{figure} {name[:1].lower()}{name[1:]}" for name, figure in facts)
            yield f"From one full {full} to the next, {told}."


def _share_shown(share: Fraction) -> str:
    return percent(to_places(share * 100, 1))


def _hours(minutes: int | None) -> str:
    if minutes is None:
        return "lesson hours not known"
    return f"{hours_taught(minutes)} taught" if minutes else "no lesson hours"


def pooled(statement: Statement) -> list[Fact]:
    """The economy that is known, from brim to brim, in each unit."""
    return [*_of_litres(statement), *_of_kwh(statement)]


def _of_litres(statement: Statement) -> list[Fact]:
    return _known({"Miles a gallon": statement.mpg, "Litres per 100 km": statement.litres_per_100_km})


def _of_kwh(statement: Statement) -> list[Fact]:
    return _known({"Miles a kWh": statement.miles_per_kwh})


def _known(figures: Mapping[str, Decimal | None]) -> list[Fact]:
    return [Fact(name, str(figure)) for name, figure in figures.items() if figure is not None]


def estimates_of(statement: Statement) -> list[str]:
    """What rests on an estimate, in sentences."""
    found = [f"{COST_CATEGORIES[name].label} is an estimate." for name in statement.cost.estimated if name != MILES]
    if MILES in statement.cost.estimated:
        found.append("The odometer is taken as level over the few days beside a reading.")
    return found


class Dial(NamedTuple):
    """How much of a lesson hour goes to the car, as a drawing, with the takings of those minutes and the price."""

    chart: LessonHourDial
    takings: str
    price: str


def dial_of(statement: Statement, price: int | None) -> Dial | None:
    """The minutes of a lesson hour at ``price`` pence that pay for the car; None without a price or a figure."""
    cost = statement.cost.cost_per_lesson_hour
    if not price or cost is None or cost < 0:
        return None
    minutes = to_places(Fraction(60 * cost, price), 0 if cost * 60 >= price else 1)
    words = f"{minutes} minute{'' if minutes == 1 else 's'}"
    chart = LessonHourDial(f"{words} of each lesson hour go to the car", int(to_places(Fraction(600 * cost, price), 0)))
    return Dial(chart, f"{words}’{'s' if minutes == 1 else ''} takings", pence_as_pounds(price).removesuffix(".00"))


def beside_group(statement: Statement, settings: Cooperative) -> str:
    """The group's rounded lesson hour of the same closed month, or 12 months; empty where it has none."""
    last = statement.period.last
    span = {month_of(last): "month", months_ending(last, 12): "year"}.get(statement.period)
    if span is None or statement.car is not None:
        return ""
    group = group_view(last.replace(day=1), span, settings)
    median = group and group.median_cost_per_lesson_hour
    return "" if median is None else f"the group’s is {pence_as_pounds(median)}, rounded"


def out_of_service(statement: Statement) -> str:
    """Why a statement has no car in it."""
    period, car = statement.period, statement.car
    if car is None:
        return _sentence(had_no_car())
    words = _sentence(had_no_car(is_of_one=True))
    if car.in_service_from > period.last:
        return f"{words} Its service begins on {day(car.in_service_from)}."
    if car.in_service_to and car.in_service_to < period.first:
        return f"{words} It was last in service on {day(car.in_service_to)}."
    return words


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def car_chips(cars: Sequence[Car], period: Period, shown: Car | None) -> list[PeriodChip]:
    """The cars among which one chooses; none where there is one alone."""
    if len(cars) < 2:
        return []
    of_each = [PeriodChip(show(car.registration), address_of(period, car), car == shown) for car in cars]
    return [PeriodChip("All your cars", address_of(period, None), shown is None), *of_each]
