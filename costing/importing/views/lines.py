"""Rows as the page shows them: one line each, with its tick and what is asked about it."""

from collections.abc import Mapping
from datetime import date
from typing import Any, NamedTuple

from config.showing import day, hours_taught, pounds, whole
from costing.core.catalogue.costs import COST_CATEGORIES
from costing.core.periods import ONE_DAY
from costing.importing.services.amending import as_text
from costing.importing.services.looking import BY_PAYEE, Group, Look, Looked
from fleet.core.days import add_months
from fleet.core.plausible.doubt import Change
from fleet.core.registration import show


class Line(NamedTuple):
    """One row: when and whom or what, what else is said of it, its figure, and whether it is ticked."""

    place: int
    title: str
    about: str
    figure: str
    asked: str
    meanings: list[tuple[str, str]]
    is_ticked: bool


class Chosen(NamedTuple):
    """The rows of one group on a page, and the name of the field for its category."""

    group: Group | None
    lines: list[Line]
    may_fold: bool

    @property
    def told(self) -> str:
        """What its folded rows are: the day and the sum of one payment, or how many they are."""
        first, *others = self.lines
        return f"{len(self.lines)} payments" if others else f"{first.title}, {first.figure}"

    @property
    def is_open(self) -> bool:
        """Whether something is asked about one of its rows, or proposed."""
        return any(line.asked or line.meanings for line in self.lines)

    @property
    def field(self) -> str:
        """The name of the field for its category."""
        return f"category-{self.group.number}" if self.group else ""


def chosen_of(look: Look, rows: list[Looked], ticked: set[int], *, has_several_cars: bool) -> list[Chosen]:
    """Return the rows of one page by group; without groups, all together."""
    # Where a group is a payee's, its head has the name already.
    shown = {"has_payee": look.grouped_by != BY_PAYEE, "has_mark": has_several_cars}
    by_group: dict[int, list[Line]] = {}
    for one in rows:
        by_group.setdefault(one.group, []).append(_line_of(one, is_ticked=one.place in ticked, **shown))
    groups = {group.number: group for group in look.groups}
    may_fold = look.grouped_by == BY_PAYEE
    return [Chosen(groups.get(number), lines, may_fold) for number, lines in by_group.items()]


def _line_of(one: Looked, *, is_ticked: bool, has_payee: bool, has_mark: bool) -> Line:
    values = one.row.values
    title, when, what, figure = values.get("payee", "") if has_payee else "", day(values["day"]), [], ""
    if "odometer" in values:
        unit = "kWh" if values["car"].fuel == "electric" else "litres"
        what = [f"{values['quantity'].normalize():f} {unit}", f"at {whole(values['odometer'])} miles"]
        what += ["not full"] if values.get("brimmed") is False else []
    elif "to_day" in values:
        when, figure = _span(values["day"], values["to_day"]), _lessons(values.get("count"))
        what = [hours_taught(values["minutes"])] if values.get("minutes") else []
        what += [f"{whole(values['private_miles'])} private miles"] if values.get("private_miles") else []
    else:
        what = _covers(values)
        what += [values["note"]] if "note" in values else []
    mark = [show(values["car"].registration)] if has_mark else []
    return Line(
        one.place,
        title or when,
        ", ".join(
            [
                f"Row {one.row.number}",
                *([when] if title else []),
                *what,
                *mark,
                *(["put right"] if one.is_amended else []),
            ]
        ),
        figure or pounds(values["amount"]),
        _asked(one),
        [*one.meanings(), *_other_cover(one)],
        is_ticked,
    )


def _covers(values: Mapping[str, Any]) -> list[str]:
    """Return what a cost is counted over, if it says so or the book proposes it."""
    if values.get("on_the_day"):
        return ["all on the day it was paid"]
    if "covers_miles" in values:
        return [f"for {whole(values['covers_miles'])} miles from then"]
    if "covers_from" not in values:
        return []
    first, last = values["covers_from"], values["covers_to"]
    months = COST_CATEGORIES[values["proposed"]].usual_months if "proposed" in values else 0
    if months and last == add_months(first, months) - ONE_DAY:
        return [f"for {months} months from {day(first)}"]
    return [f"covers {_span(first, last)}"]


def _other_cover(one: Looked) -> list[tuple[str, str]]:
    """Return how to count a cost otherwise than it is: on the day, or again over what is proposed."""
    values = one.row.values
    if "proposed" not in values:
        return []
    is_whole = bool(values.get("on_the_day"))
    over = "No, over the usual " + COST_CATEGORIES[values["proposed"]].covers
    words = over if is_whole else "No, all on the day it was paid"
    return [(as_text(one.row.number, (Change("on_the_day", "" if is_whole else "on"),)), words)]


def _asked(one: Looked) -> str:
    """Return why a row is asked about, and once what to do if it is right."""
    tick = one.ticks if len(one.ticks) < 2 else ["Tick it if it is right all the same."]
    return " ".join([*one.asked, *tick])


def _span(first: date, last: date) -> str:
    return day(first) if first == last else f"{day(first)} to {day(last)}"


def _lessons(count: int | None) -> str:
    return "not known" if count is None else f"{count} lesson{'' if count == 1 else 's'}" if count else "none"
