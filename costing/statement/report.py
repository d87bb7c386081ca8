"""The statement of a period: one record that page, file and paper show, so that their figures cannot disagree."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from operator import attrgetter

from costing.core.catalogue.costs import COST_CATEGORIES, CostGroup, categories_asked_for
from costing.core.periods import spanning, tax_year_of
from costing.core.records import Period
from costing.core.running_cost import RunningCost
from costing.report import CarReport, Figures, Together
from costing.statement.core.entries import Counted, counted
from costing.statement.services.elsewhere import TaughtElsewhere, taught_elsewhere
from costing.statement.services.ends import ChargedAtEnd, charged_at_ends
from costing.statement.services.odd_line import odd_line as odd_line
from costing.statement.services.own import OwnBooks, own_books
from costing.wording.mends import ToLog
from costing.wording.periods import title_of
from fleet.models import Car
from instructors.models import Member

#: A cost or fill of a car, with what of it counts in the period.
StatementEntry = Counted[Car]


@dataclass(frozen=True)
class StatementLine:
    """One category: its pence of true cost and of money out, how its true cost is made, and its entries.

    ``entries`` are newest first. Interest, hire and loss of value rest on no entry, but on how the car is held.
    """

    category: str
    label: str
    group: CostGroup
    pence: int
    estimated: bool
    source: str
    entries: tuple[StatementEntry, ...]

    @property
    def money_out(self) -> int:
        """The pence paid under this category in the period."""
        return sum(entry.paid for entry in self.entries)

    @property
    def held(self) -> int:
        """The pence that rest on no entry."""
        return self.pence - sum(entry.pence for entry in self.entries)


@dataclass(frozen=True)
class GroupOfLines:
    """The lines that are drawn with one tone, the dearest first."""

    group: CostGroup
    lines: tuple[StatementLine, ...]

    @property
    def pence(self) -> int:
        """The true cost of all its lines."""
        return sum(line.pence for line in self.lines)

    @property
    def money_out(self) -> int:
        """The money out of all its lines."""
        return sum(line.money_out for line in self.lines)

    @property
    def estimated(self) -> bool:
        """Whether one of its lines rests on an estimate."""
        return any(line.estimated for line in self.lines)


@dataclass(frozen=True)
class Behind:
    """What a true cost rests on, in pence: its entries, newest first, and the figure that the statement shows."""

    entries: tuple[StatementEntry, ...]
    figure: int

    @property
    def of_entries(self) -> int:
        """What the entries add up to."""
        return sum(entry.pence for entry in self.entries)

    @property
    def held(self) -> int:
        """What no entry was logged for: interest, hire and loss of value."""
        return self.figure - self.of_entries


@dataclass(frozen=True)
class Statement(Figures):
    """What one car, or all cars of a member, cost in a period, from that member's own records alone.

    ``own`` are the books that it was worked out from; ``reports`` are of those cars that were in service or cost
    anything. ``groups`` stand in the order of the bar: by true cost, the dearest first. The figures that divide are
    those of ``cost``.
    ``missing`` is all that the book lacks, and ``lacks`` what of it takes the lesson hour away; empty if it is known.
    ``ends`` are the sums that are charged on a last day with a car. ``elsewhere`` is what was taught in cars that the
    member never kept, which is in none of the figures.
    """

    own: OwnBooks
    reports: tuple[CarReport, ...]
    groups: tuple[GroupOfLines, ...]
    missing: tuple[str, ...]
    lacks: tuple[str, ...]
    ends: tuple[ChargedAtEnd, ...]
    elsewhere: TaughtElsewhere | None

    @property
    def car(self) -> Car | None:
        """The car that was asked for; None for all of the member's together."""
        return self.own.car

    @property
    def period(self) -> Period:
        """The days of the statement, both counted."""
        return self.cost.period

    @property
    def title(self) -> str:
        """What the period is called."""
        return title_of(self.period)

    @property
    def lines(self) -> list[StatementLine]:
        """All lines, in the order of their groups."""
        return [line for group in self.groups for line in group.lines]

    def behind(self, category: str = "") -> Behind | None:
        """What the true cost of a category, or of what `asked_for` calls a group, rests on, or all of it.

        None if the member kept no car then.
        """
        if self.is_out_of_service:
            return None
        wanted = categories_asked_for(category)
        lines = [line for line in self.lines if line.category in wanted]
        entries = (entry for line in lines for entry in line.entries if entry.pence)
        newest_first = sorted(entries, key=_by_day, reverse=True)
        return Behind(tuple(newest_first), sum(line.pence for line in lines))

    @property
    def cars(self) -> list[Car]:
        """The cars that it is of."""
        return [report.car for report in self.reports]

    @property
    def to_log(self) -> ToLog | None:
        """The one thing to log that would make its figures known, if one would."""
        return next((report.to_log for report in self.reports if report.to_log), None)

    @property
    def lacks_besides(self) -> list[str]:
        """What is missing without taking the lesson hour away."""
        return [reason for reason in self.missing if reason not in self.lacks]

    @property
    def is_out_of_service(self) -> bool:
        """Whether none of the cars was the member's and in service on a day of the period, nor cost anything."""
        return all(report.is_out_of_service for report in self.reports)

    @property
    def concerns_period(self) -> bool:
        """Whether one of the cars has anything to say of the period, if only a sum that was paid then."""
        return any(report.concerns_period for report in self.reports)

    @property
    def is_of_tax_year(self) -> bool:
        """Whether the period is a tax year, or lies within one from its first day: somebody may fill in a return."""
        year = tax_year_of(self.period.first)
        return self.period.first == year.first and self.period.last <= year.last


def statement(
    member: Member, period: Period, *, car: Car | None = None, reaching: Iterable[Period] = ()
) -> Statement | None:
    """Return the statement of a period, of one car of a member's own or of all that they ever kept.

    None if they never kept one. It takes the same number of queries however many entries there are. Whoever goes on to
    ask its books about other days names these as ``reaching``, so that all are read at once.
    """
    own = own_books(member, spanning([period, *reaching]), car)
    return statements(own, [period])[0] if own else None


def statements(own: OwnBooks, periods: Sequence[Period]) -> list[Statement]:
    """Return a statement of each period, at least one, by one pass over a member's own books."""
    reaching = own.reaching(spanning(periods))
    return [_statement(reaching, together) for together in reaching.over(periods)]


def _statement(own: OwnBooks, together: Together) -> Statement:
    period = together.cost.period
    entries = [one for car in own.cars for one in counted(own.uses[car.pk].spent, period, car)]
    return Statement(
        cost=together.cost,
        own=own,
        reports=together.reports,
        groups=_groups(together.cost, entries),
        missing=tuple(together.reports[0].missing if own.car else together.missing),
        lacks=() if together.cost.cost_per_lesson_hour is not None else tuple(together.missing_of_lesson_hour),
        ends=charged_at_ends(own, together),
        elsewhere=taught_elsewhere(own, period),
    )


def _groups(cost: RunningCost, entries: Iterable[StatementEntry]) -> tuple[GroupOfLines, ...]:
    by_category: dict[str, list[StatementEntry]] = defaultdict(list)
    for entry in entries:
        by_category[entry.category].append(entry)
    lines: dict[CostGroup, list[StatementLine]] = defaultdict(list)
    for line in _lines(cost, by_category):
        lines[line.group].append(line)
    groups = [GroupOfLines(group, tuple(lines[group])) for group in CostGroup if group in lines]
    return tuple(sorted(groups, key=lambda group: -group.pence))


def _lines(cost: RunningCost, entries: Mapping[str, Sequence[StatementEntry]]) -> list[StatementLine]:
    found = [
        StatementLine(
            category=name,
            label=row.label,
            group=row.group,
            pence=cost.by_category.get(name, 0),
            estimated=name in cost.estimated,
            source=row.source,
            entries=tuple(sorted(entries.get(name, ()), key=_by_day, reverse=True)),
        )
        for name, row in COST_CATEGORIES.items()
        if name in cost.by_category or name in entries
    ]
    return sorted(found, key=lambda line: -line.pence)


#: Of the entries of one day, those that were logged later come later.
_by_day = attrgetter("on", "record.key")
