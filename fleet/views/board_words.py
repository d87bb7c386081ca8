"""The board in words: one report for the page and for the printed list."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from config.showing import on_one_line, short_day, whole
from fleet.core.board import CHECK, DEFECTS, OBLIGATIONS, OF_CARS, TYRES, Urgency
from fleet.core.defects import OpenDefect, Severity
from fleet.core.due import DayUnknown, State
from fleet.models import Car
from fleet.queries import Board, BoardRow, Cell, DueLine
from fleet.views.reminders import asked_words
from fleet.views.wording import DueWords, words_of
from fleet.wording import STATE_WORDS, reasons_in_short
from instructors.models import Member

#: How each state is called within a sentence.
URGENCY_WORDS: dict[Urgency, str] = {
    Urgency.OFF: "off the road",
    **{Urgency(state.value): words.lower() for state, words in STATE_WORDS.items()},
}
#: Of these the board says how many cars there are.
_COUNTED = tuple(urgency for urgency in OF_CARS if urgency is not Urgency.LATER)
_NOT_KNOWN = URGENCY_WORDS[Urgency.UNKNOWN]
#: Of what is recorded until a day, and holds once somebody confirms it.
_UNCONFIRMED = "to confirm"
#: Of what has to be bought anew, whatever day is recorded.
_OF_FORMER_KEEPER = {DayUnknown.POLICY_OF_FORMER_KEEPER, DayUnknown.TAX_OF_FORMER_KEEPER}
#: What heads the column of all that has none of its own.
OTHER = "Other"
_OWN_COLUMNS = [one for one in OBLIGATIONS.values() if one.column]
_SHARED = [one.name for one in OBLIGATIONS.values() if not one.column]
#: In a cell of the shared column. A desk shows two lines of it.
_LONGEST_IN_A_CELL = 90


@dataclass(frozen=True, slots=True)
class CellWords:
    """How one obligation of a car stands, in a word or two; ``is_shared``: in the column that several share.

    ``urgency`` is empty where nothing is recorded, and nothing must be; ``urgency_words`` are empty too where ``words``
    say them. ``days_left`` and ``notice_days`` fill the ring of what is due.
    """

    words: str
    urgency: str = ""
    urgency_words: str = ""
    days_left: int | None = None
    notice_days: int | None = None
    is_pressing: bool = False
    is_booked: bool = False
    is_shared: bool = False


@dataclass(frozen=True, slots=True)
class RowWords:
    """One car on the board. ``words`` say why it is off the road, or name its most urgent item or defect.

    ``more_count`` is how many more are urgent. ``cells`` has one for each column. ``asked`` is empty if nobody has sent
    the keeper a reminder today.
    """

    car: Car
    urgency: Urgency
    urgency_words: str
    days_left: int | None
    cells: list[CellWords]
    reasons: list[str]
    words: str
    more_count: int
    defect_words: str
    check_words: str
    asked: str
    may_be_reminded: bool


@dataclass(frozen=True, slots=True)
class Section:
    """One obligation: the cars on which something must be done about it or is booked, worst first, and how many others
    there are.
    """

    head: str
    rows: list[tuple[RowWords, CellWords]]
    calm_count: int


@dataclass(frozen=True, slots=True)
class BoardReport:
    """The board by car and by obligation, in the same words on a page and on paper.

    ``calm`` heads the columns of one obligation each of which nothing is due on any car.
    """

    columns: list[str]
    rows: list[RowWords]
    sections: list[Section]
    calm: list[str]


def report_of(board: Board, rows: Iterable[BoardRow], viewer: Member) -> BoardReport:
    """These rows of the board in words, for ``viewer``."""
    found = [_row(row, board, viewer) for row in rows]
    columns = [*(one.column for one in _OWN_COLUMNS), OTHER]
    sections = [_section(head, index, found) for index, head in enumerate(columns)]
    calm = [section.head for section in sections[:-1] if not section.rows]
    return BoardReport(columns, found, [section for section in sections if section.rows], calm)


def counts_of(board: Board) -> list[tuple[Urgency, int, str]]:
    """How many cars stand how, of all: those that something must be done about, worst first."""
    found = [(urgency, board.counts[urgency], URGENCY_WORDS[urgency]) for urgency in _COUNTED]
    return [one for one in found if one[1]]


def credentials_of(lines: list[DueLine]) -> list[tuple[str, DueWords]]:
    """Members' credentials in words, each with the member's name."""
    return [(line.subject.member.name, words_of(line)) for line in lines]


def _section(head: str, index: int, rows: list[RowWords]) -> Section:
    found = [(row, row.cells[index]) for row in rows if row.cells[index].is_pressing or row.cells[index].is_booked]
    found.sort(key=lambda pair: (list(Urgency).index(Urgency(pair[1].urgency)), pair[1].days_left or 0))
    return Section(head, found, len(rows) - len(found))


def _row(row: BoardRow, board: Board, viewer: Member) -> RowWords:
    within = board.filters.within
    pressing, reasons = row.lines(within), reasons_in_short(row.due.reasons)
    return RowWords(
        car=row.car,
        urgency=row.urgency,
        urgency_words=URGENCY_WORDS[row.urgency],
        days_left=_days_left(row),
        cells=[*(_own_cell(one.name, row, board) for one in _OWN_COLUMNS), _shared_cell(row, board)],
        reasons=reasons,
        words="; ".join(reasons) or _first_words(row, within, pressing),
        more_count=_untold_count(row, within, pressing),
        defect_words=_defect_words(len(row.due.condition.defects)),
        check_words=_check_words(row.check.days_since),
        asked=asked_words(row.asked_by, viewer),
        may_be_reminded=row.may_be_reminded,
    )


def _first_words(row: BoardRow, within: int | None, pressing: list[DueLine]) -> str:
    """What a car that is not off the road stands by: an item, or else a defect to keep an eye on."""
    first = _first_line(row, within, pressing)
    if first is None and row.due.condition.defects:
        return _worst_defect(row).description
    return words_of(first or row.due.items[0]).in_short


def _first_line(row: BoardRow, within: int | None, pressing: list[DueLine]) -> DueLine | None:
    """The item that the verdict rests on; under a filter by days the first that it lets through."""
    if within is not None and pressing:
        return pressing[0]
    kinds = [item.kind for item in row.due.verdict.items]
    return next((line for line in row.due.items if line.kind.name in kinds), None)


def _worst_defect(row: BoardRow) -> OpenDefect:
    return min(row.due.condition.defects, key=lambda defect: list(Severity).index(defect.severity))


def _days_left(row: BoardRow) -> int | None:
    """Of a car that is due, the days left of what falls due first; None if a defect alone makes it due."""
    return next((item.days_left for item in row.due.verdict.items), None)


def _untold_count(row: BoardRow, within: int | None, pressing: list[DueLine]) -> int:
    """How many urgent items the row does not name: no reason for being off the road nor, without any, the first."""
    told = {reason.name for reason in row.due.reasons}
    if not told and (first := _first_line(row, within, pressing)):
        told = {first.kind.name}
    return sum(line.kind.name not in told for line in pressing)


def _defect_words(count: int) -> str:
    return f"{count} defect{'s' if count > 1 else ''} open" if count else ""


def _check_words(days_since: int | None) -> str:
    """How long ago the car was checked."""
    if days_since is None:
        return "never checked"
    return {0: "checked today", 1: "checked yesterday"}.get(days_since, f"checked {days_since} days ago")


def _own_cell(name: str, row: BoardRow, board: Board) -> CellWords:
    """The cell of an obligation that has a column of its own."""
    cell = row.cells.get(name)
    return _cell(cell, _words(cell, row, board.on), board.filters.within) if cell else CellWords("none")


def _shared_cell(row: BoardRow, board: Board) -> CellWords:
    """The worst of the obligations without a column on which something must be done or is booked; empty without any."""
    within = board.filters.within
    found = [row.cells[name] for name in _SHARED if name in row.cells]
    wanted = [cell for cell in found if cell.is_pressing(within) or cell.urgency is Urgency.BOOKED]
    if not wanted:
        return CellWords("")
    worst = min(wanted, key=lambda cell: cell.rank)
    title = f"{worst.line.title} " if worst.line else ""
    others = sum(_count(cell, row) for cell in wanted if cell is not worst)
    more = f", {others} more" if others else ""
    words = on_one_line(f"{title}{_words(worst, row, board.on)}", longest=_LONGEST_IN_A_CELL)
    return replace(_cell(worst, words + more, within), is_shared=True)


def _count(cell: Cell, row: BoardRow) -> int:
    """How many things a cell stands for: each open defect is one."""
    return len(row.due.condition.defects) if cell.obligation.name == DEFECTS else 1


def _cell(cell: Cell, words: str, within: int | None) -> CellWords:
    state = URGENCY_WORDS[cell.urgency]
    return CellWords(
        words,
        cell.urgency.value,
        "" if state in words else state,
        cell.line.status.days_left if cell.line else None,
        cell.line.kind.notice_days if cell.line else None,
        cell.is_pressing(within),
        cell.urgency is Urgency.BOOKED,
    )


def _words(cell: Cell, row: BoardRow, on: date) -> str:
    """What a cell says: a day, the least tread, the days since the last check, or what is wrong."""
    if cell.line:
        return _day_words(cell.line, cell.urgency, on)
    if cell.obligation is TYRES:
        return _NOT_KNOWN if row.least_tread is None else f"{row.least_tread} mm"
    if cell.obligation.name == CHECK:
        days = row.check.days_since
        return _NOT_KNOWN if days is None else "today" if days == 0 else f"{days} day{'s' if days > 1 else ''}"
    count = len(row.due.condition.defects)
    return (f"{count} defects: " if count > 1 else "") + _worst_defect(row).description


def _day_words(line: DueLine, urgency: Urgency, on: date) -> str:
    """The day of an item in short: of a later one by forecast the month, of a booked one the day it is booked for."""
    status = line.status
    if urgency is Urgency.OFF:
        return "no tuition"
    if status.governing_on is None and status.due_miles is not None:
        return f"{whole(status.due_miles)} mi"
    if status.governing_on is None or status.missing in _OF_FORMER_KEEPER:
        return _NOT_KNOWN
    if status.state is State.UNKNOWN:
        return f"{short_day(status.governing_on, on)}, {_UNCONFIRMED}"
    if status.state is State.BOOKED and status.booked_for:
        return short_day(status.booked_for, on)
    words = short_day(status.governing_on, on)
    if not status.is_by_miles:
        return words
    return words.split()[-1] if status.state is State.LATER else f"about {words}"
