"""Each due item in words, ready for a page."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from config.showing import day, whole
from fleet import queries, wording
from fleet.core.due import DueStatus, State
from fleet.core.due_kinds import DueKind
from fleet.costs import cost_book
from fleet.models import Completion
from fleet.queries import DueLine
from instructors.models import Member


@dataclass(frozen=True, slots=True)
class DueWords:
    """One due item in words; an empty text is not shown. ``note`` is empty if it is the title."""

    title: str
    kind: DueKind
    item_id: int | None
    state: State
    state_words: str
    when: str
    also: str
    is_booked: bool
    advice: str
    forecast: str
    note: str
    source: str
    days_left: int | None

    @property
    def is_pressing(self) -> bool:
        """Whether something must be done about it now."""
        return self.state in {State.UNKNOWN, State.OVERDUE, State.DUE}

    @property
    def is_unknown(self) -> bool:
        return self.state is State.UNKNOWN

    @property
    def in_short(self) -> str:
        """One line of it: "MOT 5 March 2027, in 7 days"."""
        link = ": " if self.is_unknown else " "
        return self.title + link + self.when

    @property
    def how(self) -> str:
        """How it stands: "Due: 5 March 2027, in 7 days"; or "Booked for 2 March 2027; due on 5 March 2027 ..."."""
        if self.state is State.BOOKED:
            return self.when[:1].upper() + self.when[1:]
        return f"{self.state_words}: {self.when}"

    @property
    def may_be_booked(self) -> bool:
        """Whether it can be booked: cover and credentials are renewed without an appointment."""
        return self.is_booked or not self.kind.is_cover


def words_of(line: DueLine) -> DueWords:
    """A due item in words, as of the day of its report."""
    status = line.status
    return DueWords(
        title=line.title,
        kind=line.kind,
        item_id=line.item_id,
        state=status.state,
        state_words=wording.STATE_WORDS[status.state],
        when=wording.when_booked(status),
        also=_also(status),
        is_booked=status.booked_for is not None,
        advice=_advice(line),
        forecast=_forecast(status),
        note="" if line.title == line.note else line.note,
        source=line.kind.source,
        days_left=status.days_left,
    )


@dataclass(frozen=True, slots=True)
class DoneRow:
    """One completion as a member may see it: only whoever entered its cost and paper sees them."""

    completion: Completion
    cost: Decimal | None
    has_photo: bool
    may_correct: bool


def done_rows(completions: Iterable[Completion], member: Member) -> list[DoneRow]:
    """What was done, with the costs and photos that are ``member``'s own."""
    rows = list(completions)
    refs = [row.cost_ref for row in rows if row.cost_ref]
    costs = cost_book().amounts(of=member, refs=refs) if refs else {}
    return [
        DoneRow(
            row,
            costs.get(row.cost_ref),
            row.photo is not None and row.photo.taken_by_id == member.pk,
            queries.may_correct(member, row.recorded_by),
        )
        for row in rows
    ]


def _also(status: DueStatus) -> str:
    """If it has a day and a mileage, the one that comes second."""
    if status.due_miles is None or status.due_on is None:
        return ""
    other = f"on {day(status.due_on)}" if status.is_by_miles else f"at {whole(status.due_miles)} miles"
    return f"Or {other}, whichever comes first."


def _forecast(status: DueStatus) -> str:
    """What a forecast rests on, or why there is none."""
    if status.due_miles is None:
        return ""
    if status.forecast is None:
        return "" if status.due_on is None else f"By miles: {wording.missing_words(status)}."
    basis = wording.forecast_words(status)
    if status.is_by_miles or status.forecast.is_past:
        return basis
    return f"The mileage is reached about {day(status.forecast.on)}. {basis}"


def _advice(line: DueLine) -> str:
    """What to do about it: what to enter if it is not known, or what is needed if it is urgent."""
    status = line.status
    if status.state in {State.UNKNOWN, State.OVERDUE, State.DUE}:
        return wording.to_do(status, line.nation)
    if line.kind.stops_car and (late := wording.booked_late_words(status)):
        return late
    if status.is_by_rule:
        return "This is its first MOT, worked out from first registration. Enter the certificate once it has one."
    return ""
