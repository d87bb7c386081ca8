"""Every row of a file as it would be saved: on which car, under which category, and what is asked about it first."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from config.showing import day, pounds
from costing.importing.core.alike import A_FILL, Known, alike
from costing.importing.core.columns import PURPOSES, Table
from costing.importing.core.rows import Row, Settings, read_rows
from costing.importing.core.words import category_of
from costing.importing.services.amending import Amended, amend
from costing.importing.services.book import known_in_book, remembered
from costing.importing.services.checking import check_rows, put_cars, unit_of
from costing.importing.services.covering import Paid, covered, put_cover
from costing.importing.services.doubting import Told, doubts_about
from fleet.models import Car
from instructors.models import Member

#: Kinds of group of rows that share a category.
BY_WORD, BY_PAYEE, TOGETHER = "word", "payee", "together"


@dataclass
class Looked:
    """One row with its place among all: ``faults`` say in which column it cannot be read, ``asked`` what is asked.

    A row with anything asked is left out unless it is ticked; ``ticks`` say when one would. ``meanings`` finds what may
    be meant, as pairs of a text for the page and words; ``doubted`` are the reasons of doubts.
    """

    place: int
    row: Row
    group: int = 0
    category: str = ""
    faults: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    ticks: list[str] = field(default_factory=list)
    meanings: Callable[[], list[tuple[str, str]]] = list
    doubted: list[str] = field(default_factory=list)
    is_amended: bool = False


class Group(NamedTuple):
    """Rows that share one category: the words for them in the file, and the category known so far."""

    number: int
    words: str
    category: str


@dataclass
class Look:
    """All rows of a file; ``groups`` only if they are costs, the one with most rows first."""

    rows: list[Looked]
    groups: list[Group]
    grouped_by: str = TOGETHER
    is_month_first: bool = False
    is_day_open: bool = False

    def first_ticked(self) -> set[int]:
        """The places of the rows that are taken unless somebody says otherwise."""
        return {one.place for one in self.rows if not one.faults and not one.asked}


def look_at(
    member: Member,
    table: Table,
    settings: Settings,
    *,
    cars: Sequence[Car],
    car: Car,
    today: date,
    brimmed: bool = True,
    chosen: Mapping[int, str] | None = None,
    amended: Amended | None = None,
) -> Look:
    """Read every row and hold it against the member's own book.

    ``car`` is that of rows without a mark. ``chosen`` gives categories by the number of their group; without it they
    are told by the words of the file, or remembered of the payee. ``amended`` is what was said to be meant. It takes
    three queries, and two for each car.
    """
    read = read_rows(table, settings)
    for row in read.rows:
        amend(row, (amended or {}).get(row.number, {}))
    check_rows(read.rows, settings.kind, today)
    put_cars(read.rows, cars, car)
    put_right = {number for number, changes in (amended or {}).items() if changes.keys() - {"on_the_day"}}
    looked = [Looked(place, row, is_amended=row.number in put_right) for place, row in enumerate(read.rows)]
    look = Look(looked, [], is_month_first=read.is_month_first, is_day_open=read.is_day_open)
    if settings.kind == "cost":
        _put_groups(look, member, settings, chosen)
        put_cover([Paid(one.row.values, one.category) for one in looked if not one.row.faults], member)
    words = {purpose.name: purpose.words for purpose in PURPOSES[settings.kind]}
    for one in looked:
        for fault in one.row.faults:
            column = settings.columns.get(fault.purpose)
            where = table.called(column) if column is not None else words.get(fault.purpose, fault.purpose)
            one.faults.append(f"Row {one.row.number}, {where}: {fault.why}.")
        if one.row.is_in and not one.faults:
            one.asked.append("Money in.")
            one.ticks.append("Tick it if it is a refund of a cost.")
    _put_likenesses(look, member, settings.kind)
    _put_doubts(look, member, settings.kind, today, brimmed=brimmed)
    return look


def _put_doubts(look: Look, member: Member, kind: str, today: date, *, brimmed: bool) -> None:
    """Ask about each row that can hardly be right; of costs once it is known what they were for."""
    told = [
        Told(one.place, one.row.number, arguments_of(one, kind, brimmed=brimmed))
        for one in look.rows
        if not one.faults and (kind != "cost" or one.category) and not one.row.is_in
    ]
    for place, asked in doubts_about(member, kind, told, today).items():
        one = look.rows[place]
        one.asked += asked.why.values()
        one.ticks += ["Tick it if it is right."] if asked.may_be_right else []
        one.doubted, one.meanings = list(asked.why), asked.meanings


def _put_groups(look: Look, member: Member, settings: Settings, chosen: Mapping[int, str] | None) -> None:
    name = "category" if "category" in settings.columns else "payee" if "payee" in settings.columns else ""
    look.grouped_by = {"category": BY_WORD, "payee": BY_PAYEE}.get(name, TOGETHER)
    by_key: dict[str, list[Looked]] = {}
    for one in look.rows:
        if not one.row.faults:
            by_key.setdefault(str(one.row.values.get(name, "")).lower(), []).append(one)
    known = remembered(member) if name == "payee" and chosen is None else {}
    for number, key in enumerate(sorted(by_key, key=lambda key: (-len(by_key[key]), key))):
        rows = by_key[key]
        category = (chosen or {}).get(number, "")
        if chosen is None:
            category = known.get(key, "") if name == "payee" else category_of(key)
        look.groups.append(Group(number, str(rows[0].row.values.get(name, "")), category))
        for one in rows:
            one.group, one.category = number, category


def _put_likenesses(look: Look, member: Member, kind: str) -> None:
    """Ask about each row that looks like something in the book or further up in the file."""
    rows = [one for one in look.rows if not one.faults]
    if not rows:
        return
    days = [one.row.values["day"] for one in rows]
    last = max(one.row.values.get("to_day", one.row.values["day"]) for one in rows)
    likenesses = alike([_known(one, kind) for one in rows], known_in_book(member, kind, min(days), max(*days, last)))
    for one, words in zip(rows, likenesses, strict=True):
        if words:
            one.asked.append(f"Looks like {words}.")
            one.ticks.append("Tick it if it is another.")


def _known(one: Looked, kind: str) -> Known:
    values = one.row.values
    words = f"row {one.row.number}, {pounds(values['amount'])} on {day(values['day'])}" if "amount" in values else ""
    if kind == "cost":
        about = frozenset(filter(None, [one.category, values.get("payee", "").lower(), A_FILL]))
        return Known(values["day"], about, words, values["amount"])
    about = frozenset({values["car"].registration})
    if kind == "fill":
        return Known(values["day"], about, words, values["amount"])
    return Known(values["day"], about, f"row {one.row.number} of the file", until=values["to_day"])


def taken(look: Look, ticked: set[int], kind: str) -> list[Looked]:
    """Return the rows that are saved: ticked, without a fault and, of costs, with a category; by their day.

    Fills stand in the order in which the odometer ran.
    """
    rows = (
        one for one in look.rows if one.place in ticked and not one.faults and (kind != "cost" or one.category != "")
    )
    return sorted(rows, key=lambda one: (one.row.values["day"], one.row.values.get("odometer", 0), one.place))


def arguments_of(one: Looked, kind: str, *, brimmed: bool) -> dict[str, object]:
    """Return the arguments of the action that logs a row, but for who logs it."""
    values = one.row.values
    if kind == "cost":
        words = {"supplier": values.get("payee", ""), "note": values.get("note", "")}
        return {
            **{"car": values["car"], "paid_on": values["day"], "category": one.category},
            **{"amount": values["amount"], **covered(values), **words},
        }
    if kind == "fill":
        return {
            **{"car": values["car"], "filled_on": values["day"], "odometer": values["odometer"]},
            **{"quantity": values["quantity"], "amount": values["amount"], "unit": unit_of(values["car"])},
            **{"brimmed": values.get("brimmed", brimmed), "gap_before": values.get("gap_before", False)},
        }
    return {
        **{"car": values["car"], "from_on": values["day"], "to_on": values["to_day"]},
        **{"lesson_count": values.get("count"), "minutes": values.get("minutes")},
        "private_miles": values.get("private_miles"),
    }


def total_of(rows: Sequence[Looked]) -> Decimal:
    """Return the sum of rows in pounds; nothing for lessons."""
    return sum((one.row.values.get("amount", Decimal(0)) for one in rows), Decimal(0))
