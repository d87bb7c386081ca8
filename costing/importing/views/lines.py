"""Rows as the page shows them: one line each, with its tick and what is asked about it."""

from datetime import date
from typing import NamedTuple

from config.showing import day, hours_taught, pounds, whole
from costing.importing.services.looking import BY_PAYEE, Group, Look, Looked
from fleet.core.registration import show


class Line(NamedTuple):
    """One row: when and whom or what, what else is said of it, its figure, and whether it is ticked."""

    place: int
    title: str
    about: str
    figure: str
    asked: list[str]
    meanings: list[tuple[str, str]]
    is_ticked: bool


class Chosen(NamedTuple):
    """The rows of one group on a page, and the name of the field for its category."""

    group: Group | None
    lines: list[Line]

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
    return [Chosen(groups.get(number), lines) for number, lines in by_group.items()]


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
        cover = [values[name] for name in ("covers_from", "covers_to") if name in values]
        what = [f"covers {_span(*cover)}"] if len(cover) == 2 else []
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
        one.asked,
        one.meanings,
        is_ticked,
    )


def _span(first: date, last: date) -> str:
    return day(first) if first == last else f"{day(first)} to {day(last)}"


def _lessons(count: int | None) -> str:
    return "not known" if count is None else f"{count} lesson{'' if count == 1 else 's'}" if count else "none"
