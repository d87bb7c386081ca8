"""What an offer costs month by month, worked out from one list of items.

Months run from 0 to n: month 0 is the start, and month k is the end of the k-th. An item's amount stays exact until it
is placed in its months. It is then rounded half up once, and a sum spread over the months follows `shares.share`.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import NamedTuple

from costing.choosing.core.case import Offer, Scenario
from costing.choosing.core.payments import CashFlowItem, payment_items
from costing.choosing.core.ways_out import exit_items
from costing.core.catalogue.running import AS_PAID, REPAIRS, RunningPart, When
from costing.core.money import divide_half_up
from costing.core.shares import share


class CashFlow(NamedTuple):
    """Pence paid in each month from 0 to n, and for each part; money that comes back is below zero."""

    months: tuple[int, ...]
    parts: dict[str, int]

    @property
    def total(self) -> int:
        return sum(self.months)


def cash_flow(offer: Offer, scenario: Scenario) -> CashFlow:
    """Work out what ``offer`` costs over the scenario's months. Raises CannotBeHandedBack."""
    return place(items_of(offer, scenario), scenario.months)


def items_of(offer: Offer, scenario: Scenario) -> list[CashFlowItem]:
    """Every item of ``offer``: its payments, the running costs it leaves out, and its exit.

    Raises CannotBeHandedBack.
    """
    return [*payment_items(offer, scenario), *_running_items(offer, scenario), *exit_items(offer, scenario)]


def place(items: Iterable[CashFlowItem], last: int) -> CashFlow:
    """Put each item into its months, in whole pence."""
    months, parts = [0] * (last + 1), dict[str, int]()
    for item in items:
        pence = divide_half_up(item.amount, 1)
        if item.months is None:
            for month in range(1, last + 1):
                months[month] += share(pence, month, last) - share(pence, month - 1, last)
        else:
            for month in item.months:
                months[month] += pence
        parts[item.part] = parts.get(item.part, 0) + pence * item.times
    return CashFlow(tuple(months), {part: pence for part, pence in parts.items() if pence})


def _running_items(offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    """The running costs that the offer doesn't include."""
    for part in AS_PAID:
        if part.name not in offer.includes:
            yield from _ITEMS[part.when](part, offer, scenario)


def _at_start(part: RunningPart, offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    yield CashFlowItem(part.name, scenario.running.of(part), (0,))


def _premiums(part: RunningPart, offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    """One premium at the start of each year; a list that runs out repeats its last."""
    by_year = scenario.running.of(part)
    if by_year:
        for year, start in enumerate(_year_starts_of(scenario)):
            yield CashFlowItem(part.name, by_year[min(year, len(by_year) - 1)], (start,))


def _year_starts(part: RunningPart, offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    yield CashFlowItem(part.name, scenario.running.of(part), _year_starts_of(scenario))


def _year_ends_with_mot(part: RunningPart, offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    ends = range(12, scenario.months + 1, 12)
    months = tuple(month for month in ends if offer.needs_mot(scenario.end_of(month), scenario.use.nation))
    yield CashFlowItem(part.name, scenario.running.of(part), months)


def _monthly(part: RunningPart, offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    yield CashFlowItem(part.name, scenario.running.of(part) * scenario.years)
    if part is REPAIRS:
        yield CashFlowItem(part.name, scenario.running.one_repair, ((scenario.months + 1) // 2,))


def _by_set(part: RunningPart, offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    yield CashFlowItem(part.name, scenario.running.of(part) * scenario.miles / scenario.running.life_of(part))


def _by_mile(part: RunningPart, offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    yield CashFlowItem(part.name, scenario.running.of(part) * scenario.miles)


def _year_starts_of(scenario: Scenario) -> tuple[int, ...]:
    return tuple(range(0, scenario.months, 12))


_ITEMS: Mapping[When, Callable[[RunningPart, Offer, Scenario], Iterator[CashFlowItem]]] = {
    When.AT_START: _at_start,
    When.PREMIUMS: _premiums,
    When.YEAR_STARTS: _year_starts,
    When.YEAR_ENDS_WITH_MOT: _year_ends_with_mot,
    When.MONTHLY: _monthly,
    When.BY_SET: _by_set,
    When.BY_MILE: _by_mile,
}


def total_of(items: Iterable[CashFlowItem]) -> int:
    """The pence that `place` adds up to, without placing them. A payment that isn't a whole penny counts as it is."""
    return sum(item.pence for item in items)
