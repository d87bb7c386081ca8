"""What an offer costs, month by month: every sum with the months it falls in, by one list of lines.

Months are 0 to n: month 0 is the start, month k the end of the k-th. A line's amount is exact until it is placed;
it is rounded half up once, as a whole, and what is spread over the months is shared by the one rule of shares.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import NamedTuple

from costing.core.catalogue.running import AS_PAID, REPAIRS, RunningPart, When
from costing.core.money import divide_half_up
from costing.core.offers.exits import exit_lines
from costing.core.offers.lines import Line
from costing.core.offers.payments import payment_lines
from costing.core.offers.terms import Offer, Scene
from costing.core.shares import share


class CashFlow(NamedTuple):
    """Pence out by month 0..n, money back below zero; and the same by part."""

    months: tuple[int, ...]
    parts: dict[str, int]

    @property
    def total(self) -> int:
        return sum(self.months)


def cash_flow(offer: Offer, scene: Scene) -> CashFlow:
    """Work out what ``offer`` costs over the scene's months. Raises CannotBeHandedBack."""
    return place(lines_of(offer, scene), scene.months)


def lines_of(offer: Offer, scene: Scene) -> list[Line]:
    """Every sum of ``offer``: payments, what it does not include, and its exit. Raises CannotBeHandedBack."""
    return [*payment_lines(offer, scene), *_running_lines(offer, scene), *exit_lines(offer, scene)]


def place(lines: Iterable[Line], last: int) -> CashFlow:
    """Put each line into its months, in whole pence."""
    months, parts = [0] * (last + 1), dict[str, int]()
    for line in lines:
        pence = divide_half_up(line.amount, 1)
        if line.months is None:
            for month in range(1, last + 1):
                months[month] += share(pence, month, last) - share(pence, month - 1, last)
        else:
            for month in line.months:
                months[month] += pence
        parts[line.part] = parts.get(line.part, 0) + pence * line.times
    return CashFlow(tuple(months), {part: pence for part, pence in parts.items() if pence})


def _running_lines(offer: Offer, scene: Scene) -> Iterator[Line]:
    """What running the car costs beside the offer, by the part it belongs to."""
    for part in AS_PAID:
        if part.name not in offer.includes:
            yield from _LINES[part.when](part, offer, scene)


def _at_start(part: RunningPart, offer: Offer, scene: Scene) -> Iterator[Line]:
    yield Line(part.name, scene.running.of(part), (0,))


def _premiums(part: RunningPart, offer: Offer, scene: Scene) -> Iterator[Line]:
    """Each year's at its start; a list that is too short goes on with its last."""
    by_year = scene.running.of(part)
    if by_year:
        for year, start in enumerate(_year_starts_of(scene)):
            yield Line(part.name, by_year[min(year, len(by_year) - 1)], (start,))


def _year_starts(part: RunningPart, offer: Offer, scene: Scene) -> Iterator[Line]:
    yield Line(part.name, scene.running.of(part), _year_starts_of(scene))


def _year_ends_with_mot(part: RunningPart, offer: Offer, scene: Scene) -> Iterator[Line]:
    ends = range(12, scene.months + 1, 12)
    months = tuple(month for month in ends if offer.needs_mot(scene.end_of(month), scene.use.nation))
    yield Line(part.name, scene.running.of(part), months)


def _monthly(part: RunningPart, offer: Offer, scene: Scene) -> Iterator[Line]:
    yield Line(part.name, scene.running.of(part) * scene.years)
    if part is REPAIRS:
        yield Line(part.name, scene.running.one_repair, ((scene.months + 1) // 2,))


def _by_set(part: RunningPart, offer: Offer, scene: Scene) -> Iterator[Line]:
    yield Line(part.name, scene.running.of(part) * scene.miles / scene.running.life_of(part))


def _by_mile(part: RunningPart, offer: Offer, scene: Scene) -> Iterator[Line]:
    yield Line(part.name, scene.running.of(part) * scene.miles)


def _year_starts_of(scene: Scene) -> tuple[int, ...]:
    return tuple(range(0, scene.months, 12))


_LINES: Mapping[When, Callable[[RunningPart, Offer, Scene], Iterator[Line]]] = {
    When.AT_START: _at_start,
    When.PREMIUMS: _premiums,
    When.YEAR_STARTS: _year_starts,
    When.YEAR_ENDS_WITH_MOT: _year_ends_with_mot,
    When.MONTHLY: _monthly,
    When.BY_SET: _by_set,
    When.BY_MILE: _by_mile,
}


def total_of(lines: Iterable[Line]) -> int:
    """What `place` adds up to, in pence, without placing it; a payment between two pence counts as it is."""
    return sum(line.pence for line in lines)
