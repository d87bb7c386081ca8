"""One report on offers, which pages, paper, file and command share, and the JSON object of `compare_offers`."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import Any, NamedTuple

from config import budgets
from costing.choosing.core.bands import Band, band_of
from costing.choosing.core.case import Case, WhatIf
from costing.choosing.core.chances import Odds, Untold, without_range
from costing.choosing.core.figures import Figures, MonthSum, figures, takings_lost
from costing.choosing.core.inputs import Place
from costing.choosing.core.not_told import ASSUMED
from costing.choosing.core.switching import Switch, Switching
from costing.choosing.core.verdicts import PairVerdict, cheapest_of, verdicts
from costing.choosing.core.walk_away import WalkAway, walk_away
from costing.choosing.document.toml import BadFile, read_file
from costing.core.money import to_places, to_pounds

#: What those outside the wing may take from here, where it comes from further in.
__all__ = ["BadFile", "OffersReport", "PairVerdict", "WhatIfResult", "answer_of", "report_of_file"]


class WhatIfResult(NamedTuple):
    """Every offer if something happens, in the order of the file.

    ``takings_lost`` are the pence of the lessons not given in the weeks off, None without weeks off; they stand beside
    the cost and are never taken from it. ``cheapest`` is the offer that is settled as cheaper than every other.
    """

    name: str
    takings_lost: int | None
    cheapest: str | None
    figures: tuple[Figures, ...]


@dataclass(frozen=True)
class OffersReport:
    """Everything there is to say about a case; each part is worked out when it is first asked for."""

    case: Case

    @cached_property
    def figures(self) -> tuple[Figures, ...]:
        """Every offer as planned, in the order of the file."""
        return self._figures()

    @cached_property
    def verdicts(self) -> tuple[PairVerdict, ...]:
        """What can be said of each pair."""
        return verdicts(self.case, self.figures)

    @cached_property
    def cheapest(self) -> str | None:
        """The offer that is cheaper than every other, whatever isn't told."""
        return self._cheapest(self.verdicts)

    @cached_property
    def expected(self) -> dict[str, int | None]:
        """What each offer is expected to cost over the chances of leaving, in pence."""
        return {one.offer.name: one.expected for one in self.figures}

    @cached_property
    def cheapest_expected(self) -> str | None:
        """The offer with the lowest expected total; None for one offer alone, a tie, or one that isn't known."""
        return least_of(self.expected)

    @cached_property
    def what_ifs(self) -> tuple[WhatIfResult, ...]:
        """What the case says could happen, each beside the plan."""
        return tuple(self.what_if(change) for change in self.case.what_ifs)

    def what_if(self, change: WhatIf) -> WhatIfResult:
        """Every offer if ``change`` happens."""
        found = self._figures(what_if=change)
        lost = takings_lost(self.case.use, change)
        return WhatIfResult(change.name, lost, self._cheapest(verdicts(self.case, found)), found)

    @cached_property
    def _leaving(self) -> tuple[tuple[Figures, ...], ...]:
        return tuple(self._figures(months=month) for month in range(1, self.case.use.months + 1))

    def leaving(self) -> tuple[tuple[Figures, ...], ...]:
        """Every offer if one leaves at the end of month 1, 2 and so on up to the horizon."""
        return self._leaving

    @cached_property
    def verdicts_on_leaving(self) -> tuple[tuple[PairVerdict, ...], ...]:
        """What can be said of each pair if one leaves at the end of month 1, 2 and so on."""
        return tuple(verdicts(self.case, then) for then in self._leaving)

    @cached_property
    def assumed(self) -> dict[str, tuple[str, ...]]:
        """The keys in whose place something is assumed, as planned or where one leaves early, for each offer."""
        found = {}
        for each in zip(self.figures, *self._leaving, strict=True):
            keys = {key for one in each for key in one.assumed}
            found[each[0].offer.name] = tuple(key for key in ASSUMED if key in keys)
        return found

    def band(self, figures: Figures) -> Band | None:
        """How far an offer's line of `leaving` may lie lower or higher; None without a range or something untold."""
        return band_of(self.case, figures, self.verdicts)

    @cached_property
    def _switching(self) -> Switching:
        return Switching(self.case)

    @cached_property
    def switching(self) -> tuple[Switch, ...]:
        """Where the cheaper of two offers changes."""
        return self._switching.values()

    def switching_between(self, name: str, other: str) -> tuple[Switch, ...]:
        """Where the cheaper one of these two offers changes."""
        return self._switching.values(name, other)

    @cached_property
    def _odds(self) -> tuple[tuple[Odds, ...] | None, str]:
        try:
            # Loaded with numpy, by those alone who ask for odds.
            from costing.choosing.core.odds import odds

            return odds(self.case, most_pairs=budgets.DRAWN_PAIRS), ""
        except Untold as error:
            return None, str(error)

    @property
    def odds(self) -> tuple[Odds, ...] | None:
        """How often each offer is cheapest; None with an ``odds_reason``."""
        return self._odds[0]

    @property
    def odds_reason(self) -> str:
        """Why there are no odds; "" if there are."""
        return self._odds[1]

    @cached_property
    def without_range(self) -> tuple[Place, ...]:
        """The uncertain figures that the odds hold still."""
        return without_range(self.case)

    def walk_away(self, name: str) -> WalkAway:
        """The highest price at which the offer of this name still beats the others."""
        return walk_away(self.case, name)

    def _figures(self, *, months: int | None = None, what_if: WhatIf | None = None) -> tuple[Figures, ...]:
        return tuple(figures(self.case, offer, months=months, what_if=what_if) for offer in self.case.offers)

    def _cheapest(self, found: Sequence[PairVerdict]) -> str | None:
        return cheapest_of([offer.name for offer in self.case.offers], found)


def least_of(sums: Mapping[str, int | None]) -> str | None:
    """The name of the lowest of several sums; None for one sum alone, a tie, or if one of them isn't known."""
    known = sorted((pence, name) for name, pence in sums.items() if pence is not None)
    if len(known) < len(sums) or len(known) < 2 or known[0][0] == known[1][0]:
        return None
    return known[0][1]


def report_of_file(path: Path, nation: str) -> OffersReport:
    """The report on an offers file, for a co-op in ``nation``. Raises BadFile with every fault."""
    return OffersReport(read_file(path, nation=nation))


def answer_of(report: OffersReport) -> dict[str, Any]:
    """The one JSON object of `compare_offers --json`. Money is pounds with two decimals; None is an absent figure."""
    odds = report.odds
    return {
        "offers": [_offer(one, report.expected[one.offer.name]) for one in report.figures],
        "verdicts": [_verdict(one) for one in report.verdicts],
        "cheapest": report.cheapest,
        "cheapest_expected": report.cheapest_expected,
        "what_if": [_what_if(one, report.figures) for one in report.what_ifs],
        "switching": [_switch(one) for one in report.switching],
        "odds": None if odds is None else [_odds(one) for one in odds],
        "odds_reason": report.odds_reason or None,
    }


def _offer(one: Figures, expected: int | None) -> dict[str, Any]:
    quoted = one.offer.quoted_apr
    return {
        "name": one.offer.name,
        "total": _money(one.total),
        "told": _money(one.told),
        "not_told": one.not_told,
        "assumed": one.assumed,
        "per_week": _money(one.per_week),
        "per_mile": _money(one.per_mile),
        "per_lesson_hour": _money(one.per_lesson_hour),
        "up_front": _money(one.up_front),
        "dearest_month": _month_sum(one.dearest),
        "hours_a_week_for_the_car": one.hours_a_week,
        "apr": one.apr,
        "quoted_apr": None if quoted is None else _rate(quoted),
        "present_value": _money(one.present_value),
        "after_tax": _money(one.after_tax),
        "lowest_purse": _month_sum(one.lowest_purse),
        "expected_total": _money(expected),
        "ways_out": [
            {"way": way.way, "amount": _money(way.pence), "reason": way.reason or None, "taken": way.is_taken}
            for way in one.ways_out
        ],
        "cash_flow": [_money(pence) for pence in one.flow.months],
        "breakdown": {part: _money(pence) for part, pence in one.flow.parts.items()},
    }


def _verdict(one: PairVerdict) -> dict[str, Any]:
    return {
        "a": one.a,
        "b": one.b,
        "cheaper": one.cheaper,
        "settled": one.is_settled,
        "room": _money(one.room),
        "room_of": one.room_of,
        "of": one.of,
        "if_same": one.if_same,
    }


def _what_if(result: WhatIfResult, planned: Sequence[Figures]) -> dict[str, Any]:
    offers = [
        {"name": now.offer.name, "total": _money(now.total), "change": _change(was, now), "way_out": now.way_out}
        for was, now in zip(planned, result.figures, strict=True)
    ]
    lost = _money(result.takings_lost)
    return {"name": result.name, "takings_lost": lost, "cheapest": result.cheapest, "offers": offers}


def _change(was: Figures, now: Figures) -> Decimal | None:
    return None if was.total is None or now.total is None else _money(now.total - was.total)


def _switch(one: Switch) -> dict[str, Any]:
    place = Place(one.input, one.offer, one.at)
    value = list(one.value) if isinstance(one.value, tuple) else one.value
    return {
        "cheaper": one.cheaper,
        "than": one.than,
        "input": one.input,
        "offer": one.offer or None,
        "base": _in_unit(place, one.base),
        "value": _in_unit(place, value) if isinstance(value, Fraction) else value,
        "low": _in_unit(place, one.low),
        "high": _in_unit(place, one.high),
    }


def _odds(one: Odds) -> dict[str, Any]:
    sums = {"mean": one.mean, "low": one.low, "middle": one.middle, "high": one.high}
    shown = {key: _money(pence) for key, pence in sums.items()}
    return {"name": one.name, "cheapest": to_places(one.cheapest, 4), **shown}


def _in_unit(place: Place, value: Fraction) -> Decimal | int | str:
    """Pounds with two decimals, whole months and weeks, and pence and miles as a document gives them."""
    if place.is_whole:
        return int(value)
    return to_places(value / 100, 2) if place.unit == "pounds" else _plain(value, 4)


def _plain(value: Fraction, places: int) -> str:
    """A number of at most ``places`` decimals, without noughts at its end or a power of ten."""
    return f"{to_places(value, places).normalize():f}"


def _rate(per_cent: Fraction) -> str:
    """A rate with at least one decimal, as the one worked out has it: 7.0, 14.95."""
    plain = _plain(per_cent, 6)
    return plain if "." in plain else f"{plain}.0"


def _month_sum(one: MonthSum | None) -> dict[str, Any] | None:
    return None if one is None else {"month": one.month, "amount": _money(one.pence)}


def _money(pence: int | None) -> Decimal | None:
    return None if pence is None else to_pounds(pence)
