"""What of an archive that was loaded can hardly be right: told as a warning, and never a reason to refuse it."""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple

from config import budgets
from config.asking import fill
from config.showing import whole
from costing.archive.faults import ArchiveFault
from costing.archive.found_right import FOUND_RIGHT, reasons_by_ref
from costing.archive.reading import FileRow
from costing.archive.recorded import Values, recorded
from costing.archive.table import Table
from costing.archive.tables import COSTS, FILLS, ODOMETER, TEACHING
from costing.core.plausible import typed
from costing.core.plausible.running import Running
from costing.wording.doubts import DOUBT_WORDS
from fleet.core.odometer import Reading
from fleet.core.plausible.doubt import Typed
from fleet.queries import every_car


class _Kind(NamedTuple):
    """A kind of entry. ``names`` are its columns by the names of its action's arguments."""

    name: str
    table: Table
    day: str
    typed: Callable[[Mapping[str, Any]], Typed]
    names: Mapping[str, str]


_KINDS = tuple(
    _Kind(name, table, day, typed_as, {column.source: column.name for column in table.columns})
    for name, table, day, typed_as in (
        ("fill", FILLS, "filled_on", typed.fill),
        ("cost", COSTS, "paid_on", typed.cost),
        ("lessons", TEACHING, "from_on", typed.lessons),
    )
)


@dataclass
class Doubts:
    """The first doubts about the rows that were loaded, in no order, and how many ``more`` there are."""

    listed: list[ArchiveFault] = field(default_factory=list)
    more: int = 0

    @property
    def lines(self) -> list[str]:
        """Each doubt as one line, in the order of files and lines, then how many more there are."""
        return [*map(str, sorted(self.listed)), *([f"and {whole(self.more)} more"] if self.more else [])]

    def add(self, doubt: ArchiveFault) -> None:
        """List a doubt, or count it."""
        if len(self.listed) < budgets.ARCHIVE_FAULTS:
            self.listed.append(doubt)
        else:
            self.more += 1


class _Event(NamedTuple):
    """A row of a car's book, ``line`` 0 if it was in the book before."""

    on: date
    kind: _Kind | None
    line: int
    values: Values


def doubts_about(new: Mapping[str, list[FileRow]]) -> Doubts:
    """Say what can hardly be right of the rows that were just written, each by what went before it in its car's book.

    Another member's rows say nothing but what the odometer showed. What somebody found right is left out.
    """
    found = Doubts()
    right = reasons_by_ref(new.get(FOUND_RIGHT.file, ()))
    fuels = {car.registration: car.fuel for car in every_car()}
    for mark, events in _books(new).items():
        running: dict[str, Running] = {}
        readings: list[Reading] = []
        for event in sorted(events, key=lambda one: (one.on, one.kind is not None, one.line)):
            if event.kind is None:
                readings.append(Reading(event.on, event.values["miles"]))
                for one in running.values():
                    one.read(readings[-1])
                continue
            email = event.values["member_email"]
            if email not in running:
                running[email] = Running(fuels[mark], event.on, readings=readings)
            for doubt in _doubts_of(event, running[email], right.get(event.values["ref"], ())):
                found.add(doubt)
    return found


def _doubts_of(event: _Event, book: Running, right: Collection[str]) -> Iterator[ArchiveFault]:
    """The doubts about one entry, which then counts as right."""
    kind = event.kind
    assert kind is not None  # noqa: S101 - for the type checker
    told = kind.typed({source: event.values[name] for source, name in kind.names.items()})
    # Each entry is looked at as on its own day: an archive is about years that have passed.
    book.today = event.on
    if event.line:
        for doubt in book.doubts(kind.name, told, with_meanings=False):
            if doubt.reason not in right:
                words = fill(DOUBT_WORDS[kind.name][doubt.reason], doubt.figures, date.max)
                yield ArchiveFault(kind.table.file, event.line, kind.names.get(doubt.field, doubt.field), words)
    book.add(kind.name, told)


def _books(new: Mapping[str, list[FileRow]]) -> dict[str, list[_Event]]:
    """The rows of each car with anything new, those that were in the book before among them."""
    books: defaultdict[str, list[_Event]] = defaultdict(list)
    for kind in _KINDS:
        for row in new.get(kind.table.file, ()):
            books[row.values["registration"]].append(_Event(row.values[kind.day], kind, row.line, row.values))
    if books:
        for kind in _KINDS:
            refs = {row.values["ref"] for row in new.get(kind.table.file, ())}
            for values in recorded(kind.table, "standing"):
                if values["registration"] in books and values["ref"] not in refs:
                    books[values["registration"]].append(_Event(values[kind.day], kind, 0, values))
        for values in recorded(ODOMETER):
            if values["registration"] in books:
                books[values["registration"]].append(_Event(values["read_on"], None, 0, values))
    return books
