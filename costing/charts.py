"""The costs of a car as records for `config.charts`, by the groups that have a tone."""

from collections import Counter
from collections.abc import Iterable, Sequence
from statistics import median

from config.charts.months import Across, Column, Group, MonthsStacked
from config.charts.pound import EachPound, Part
from config.charts.scales import shares_of_100
from config.showing import hours, pence_as_pounds
from costing.core.catalogue.costs import COST_CATEGORIES, CostGroup
from costing.core.group import Shown
from costing.core.money import divide_half_up
from costing.report import OwnBesideGroup

#: A month is odd if it lies above the middle of the year by more than one part in so many.
_ODD = 6
_MOST_NOTES = 2


def parts_of(amounts: Iterable[tuple[CostGroup, int]]) -> tuple[Part, ...]:
    """The pence of each group that has some, from the axis up."""
    pence: Counter[CostGroup] = Counter()
    for group, amount in amounts:
        pence[group] += amount
    return tuple(Part(group.value, group.short_words, pence[group]) for group in CostGroup if pence[group])


def group_of(part: Part) -> CostGroup:
    """The group that a part is drawn for."""
    return CostGroup(part.tone)  # type: ignore[call-arg]  # looked up by its value, not made


def each_pound(
    amounts: Iterable[tuple[CostGroup, int]], fuel: str = CostGroup.FUEL.spoken, *, is_partial: bool = False
) -> EachPound | None:
    """Where each pound of a true cost went; None if no group has cost anything.

    ``fuel`` is what the cars burn, and ``is_partial`` whether the cost leaves something out that is not known.
    """
    bar = EachPound("", parts_of(amounts))
    if not bar.drawn:
        return None
    largest, share = bar.drawn[0], shares_of_100([part.pence for part in bar.drawn])[0]
    took = "took all of each pound" if share == 100 else f"took {share}p of each pound"
    name = fuel if group_of(largest) is CostGroup.FUEL else group_of(largest).spoken
    return EachPound(f"{name} {took}{' of what is known' if is_partial else ''}", bar.parts)


def median_of(month: OwnBesideGroup) -> int | None:
    """The group's median of a lesson hour in a month, in pence; None until it is closed, or where none is shown."""
    return month.group.median_cost_per_lesson_hour if month.group else None


def beside_median(figure: int, group: Shown, *, is_short: bool = False) -> str:
    """Say how a lesson hour compares with the group's median, in pence, as far as that is known.

    The median is rounded: within half a step of it nobody knows which is the larger, and what lies apart is told to ten
    pence. ``is_short`` leaves out to what. "" where the median is not shown.
    """
    median_pence = group.median_cost_per_lesson_hour
    if median_pence is None:
        return ""
    rounded = ", rounded" if is_short else f" (rounded to {group.rounded_to}p)"
    of_group = f"the group’s {pence_as_pounds(median_pence)}{rounded}"
    apart = abs(figure - median_pence)
    if 2 * apart < group.rounded_to:
        return f"about {of_group}"
    tens = 10 * divide_half_up(apart, 10)
    about = f"{tens}p" if tens < 100 else pence_as_pounds(tens)
    return f"about {about} {'above' if figure > median_pence else 'below'} {of_group}"


def groups_in(months: Iterable[OwnBesideGroup]) -> list[CostGroup]:
    """The groups of costs that make up the lesson hours of some months, from the axis up."""
    found = {group for month in months for group in month.own.by_group}
    return [group for group in CostGroup if group in found]


def statement_of(month: OwnBesideGroup, page: str) -> str:
    """The address of the statement of a month or year, on its ``page``; "" without a car in service."""
    return f"{page}?{days_of(month)}" if month.own.in_service else ""


def days_of(month: OwnBesideGroup) -> str:
    """The query that asks for the days of a month or year."""
    return f"first={month.period.first}&last={month.period.last}"


def months_stacked(months: Sequence[OwnBesideGroup], title: str, page: str = "") -> MonthsStacked:
    """The lesson hour of each month, oldest first, with the group's across them.

    Each column leads to its month on ``page``; on paper there is none.
    """
    notes = _notes(months)
    line = tuple(median_of(month) for month in months)
    rounding = next((month.group.rounded_to for month in reversed(months) if month.group), 20)
    return MonthsStacked(
        title=title,
        groups=tuple(Group(group.value, group.words, group.short_words) for group in groups_in(months)),
        columns=tuple(
            Column(
                words=month.title,
                short_words=f"{month.period.first:%b}",
                letter=f"{month.period.first:%b}"[0],
                slices={group.value: pence for group, pence in month.own.by_group.items()},
                note=notes.get(index, ""),
                to=statement_of(month, page) if page else "",
            )
            for index, month in enumerate(months)
        ),
        across=Across("Group", line, rounding),
        whole="You",
    )


def _notes(months: Sequence[OwnBesideGroup]) -> dict[int, str]:
    """Why the one or two dearest months are odd, by their place: the costs that made them so, or the few hours."""
    figures = {
        index: month.own.cost_per_lesson_hour
        for index, month in enumerate(months)
        if month.own.cost_per_lesson_hour is not None
    }
    usual = median(figures.values()) if figures else 0
    odd = [index for index, pence in figures.items() if (pence - usual) * _ODD > usual > 0]
    dearest = sorted(odd, key=lambda index: -figures[index])[:_MOST_NOTES]
    return {index: _note(months[index], [months[at] for at in figures], usual) for index in dearest}


def _note(month: OwnBesideGroup, told: Sequence[OwnBesideGroup], usual: float) -> str:
    """What makes up at least half of what a month lies above the usual, by its dearest category; else sum and hours."""
    own = month.own
    figure = own.cost_per_lesson_hour or 0
    above = {
        group: pence - median(other.own.by_group.get(group, 0) for other in told)
        for group, pence in own.by_group.items()
    }
    most = max(above, key=lambda group: above[group], default=None)
    if most is not None and above[most] * 2 >= figure - usual:
        return _named(most, month)
    return f"{pence_as_pounds(figure)} in {hours(own.minutes or 0)} h"


def _named(group: CostGroup, month: OwnBesideGroup) -> str:
    """A group by its dearest category in a month, or by its own short name if no other category has its tone."""
    if group.is_of_one:
        return group.short_words.lower()
    label = COST_CATEGORIES[month.own.dearest[group]].label.partition(":")[0]
    return label if label.isupper() else label.lower()
