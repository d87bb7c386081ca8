"""A comparison's money as records for `config.charts`. The same figures always stand beside a drawing in a table."""

from collections.abc import Iterator, Sequence
from itertools import accumulate

from config.charts.money import MoneyOfOffers, OfferBar
from config.charts.months import Across, Column, Group, MonthsStacked
from config.charts.ranges import OfferRange, RangesOfOffers
from config.charts.scales import short_money
from config.charts.totals import OfferLine, RunningTotals
from costing.charts import group_of, parts_of
from costing.choosing.core.odds import Odds
from costing.choosing.pictures.odds_table import share_words
from costing.choosing.pictures.table import OfferColumn
from costing.choosing.services.keep_or_replace import KeepOrReplace, answer
from costing.core.catalogue.agreements import CAR_SUMS, VALUE_BACK
from costing.core.catalogue.costs import RENTAL, CostGroup
from costing.core.catalogue.running import RUNNING_PARTS

#: What a further year of a car is made of, from the axis up; each is drawn with the group of costs it belongs to.
_YEAR_PARTS = (
    Group(CostGroup.VALUE.value, "Value lost", "Value"),
    Group(CostGroup.FINANCE.value, "Money tied up", "Tied up"),
    Group(CostGroup.SERVICE.value, "Repairs", "Repairs"),
    Group(CostGroup.REST.value, "Other running costs", "Other"),
)


def money_chart(columns: Sequence[OfferColumn]) -> MoneyOfOffers | None:
    """Where each offer's money goes; None if no offer has a part above nought."""
    bars = tuple(OfferBar(one.letter, one.name, parts_of(amounts_of(one))) for one in columns)
    if not any(bar.length for bar in bars):
        return None
    pairs = [(column, part) for column, bar in zip(columns, bars, strict=True) for part in bar.parts]
    column, part = max(pairs, key=lambda pair: pair[1].pence)
    largest = f"{column.letter}’s {_spoken(group_of(part), column)}"
    return MoneyOfOffers(f"The largest part of all is {largest}, {short_money(part.pence)}", bars)


def _spoken(group: CostGroup, column: OfferColumn) -> str:
    """What a group of an offer's costs is called in a sentence: loss of value, rental, finance, tax and MOT."""
    if group is CostGroup.FINANCE:
        return RENTAL.label.lower() if column.figures.offer.is_hire else group.value
    return group.spoken[:1].lower() + group.spoken[1:]


def amounts_of(column: OfferColumn) -> Iterator[tuple[CostGroup, int]]:
    """Each part of an offer's money with the group that it is drawn with, in pence; they add up to its total.

    What a car that is bought loses is its price less what it fetches; all else that is paid for it pays for credit. One
    that goes back at the end is drawn as hired, whatever it is called.
    """
    offer, parts = column.figures.offer, column.figures.flow.parts
    car = sum(parts.get(name, 0) for name in CAR_SUMS)
    goes_back = offer.is_hire or (offer.at_end == "hand_back" and VALUE_BACK.name not in parts)
    lost = 0 if goes_back else (offer.price or 0) + parts.get(VALUE_BACK.name, 0)
    yield CostGroup.VALUE, lost
    yield CostGroup.FINANCE, car - lost
    for name, part in RUNNING_PARTS.items():
        yield part.category.group, parts.get(name, 0)


def running_chart(columns: Sequence[OfferColumn]) -> RunningTotals:
    """What each offer has cost so far, month by month."""
    lines = tuple(OfferLine(one.letter, one.name, tuple(accumulate(one.figures.flow.months))) for one in columns)
    least = min(lines, key=lambda line: line.pence[-1])
    return RunningTotals(f"By the end {least.letter} has cost the least, {short_money(least.pence[-1])}", lines)


def odds_chart(columns: Sequence[OfferColumn], odds: Sequence[Odds]) -> RangesOfOffers:
    """Where four in five totals of each offer lie."""
    by_name = {one.name: one for one in odds}
    found = [(column, by_name[column.name]) for column in columns]
    best, share = max(found, key=lambda pair: pair[1].cheapest)
    return RangesOfOffers(
        f"{best.letter} is the cheapest in {share_words(share)} of the draws",
        tuple(OfferRange(column.letter, column.name, one.low, one.middle, one.high) for column, one in found),
    )


def years_chart(found: KeepOrReplace) -> MonthsStacked:
    """What each further year of the car costs, and across the years what the best offer costs a year."""
    columns = tuple(
        Column(
            f"Year {year.year}",
            f"Year {year.year}",
            f"{year.year}",
            {
                CostGroup.VALUE.value: year.value_lost,
                CostGroup.FINANCE.value: year.tied_up,
                CostGroup.SERVICE.value: year.repairs,
                CostGroup.REST.value: year.other,
            },
            "replace it" if year.year == found.replace_in else "",
        )
        for year in found.years
    )
    line = Across("Offer", (found.best_per_year,) * len(columns), rounding=0)
    return MonthsStacked(answer(found), _YEAR_PARTS, columns, line)
