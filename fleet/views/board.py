"""The board of all cars, and its printed sheet."""

from dataclasses import dataclass
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.pdf import pdf_response, render_pdf
from fleet import queries
from fleet.core.board import Urgency
from fleet.models import Car
from fleet.queries import Board, BoardRow, DueLine
from fleet.views.reminders import asked_words
from fleet.views.wording import DueWords, words_of
from fleet.wording import reasons_in_short
from instructors.access import MemberRequest
from instructors.models import Member
from instructors.queries import cooperative

#: The filters of the board, in days.
WITHIN = (7, 30, 90)

_URGENCY_WORDS: dict[Urgency, str] = {
    Urgency.OFF_THE_ROAD: "off the road",
    Urgency.OVERDUE_OR_UNKNOWN: "overdue or not known",
    Urgency.DUE: "due soon",
    Urgency.QUIET: "nothing due soon",
}


@dataclass(frozen=True, slots=True)
class CarRow:
    """One car on the board: why it is off the road or else its most pressing item, and how many more press.

    ``asked`` is empty while nobody has had the keeper reminded today.
    """

    car: Car
    reasons: list[str]
    first: DueWords
    more_count: int
    defect_words: str
    check_words: str
    asked: str
    may_be_reminded: bool


@require_safe
def car_list(request: MemberRequest) -> HttpResponse:
    """Every car for a coordinator, the own ones for a member; the worst first."""
    today = timezone.localdate()
    board = queries.board(request.user, today, _within(request))
    context = {
        "board": board,
        "rows": [_row(row, board, request.user) for row in board.rows],
        "car_count": sum(board.counts.values()),
        "counts": [(words, board.counts[urgency]) for urgency, words in _URGENCY_WORDS.items()],
        "filters": WITHIN,
        "query": f"?{urlencode({'within': board.within})}" if board.within else "",
        "credentials": _credentials(board.credentials),
        "shows_former": "out-of-service" in request.GET,
        "reminders_are_late": request.user.is_coordinator and queries.reminders_are_late(timezone.now()),
    }
    return render(request, "fleet/car_list.html", context)


@require_safe
def board_sheet(request: MemberRequest) -> HttpResponse:
    """The board to be printed: every car with all that is due on it, or with what the filter leaves."""
    today = timezone.localdate()
    board = queries.board(request.user, today, _within(request))
    context = {
        "board": board,
        "cooperative": cooperative(),
        "rows": [(_row(row, board, request.user), _sheet_lines(row, board.within)) for row in board.rows],
        "credentials": _credentials(board.credentials),
        "is_coordinator": request.user.is_coordinator,
    }
    return pdf_response(render_pdf("fleet/pdf/board.html", context), f"cars-{today:%Y-%m-%d}.pdf")


def _within(request: HttpRequest) -> int | None:
    """The filter that the address asks for; None for none, or one that there is not."""
    return next((days for days in WITHIN if str(days) == request.GET.get("within")), None)


def _row(row: BoardRow, board: Board, viewer: Member) -> CarRow:
    reasons = reasons_in_short(row.due.reasons)
    pressing = row.lines(board.within)
    return CarRow(
        car=row.car,
        reasons=reasons,
        first=words_of((pressing or row.due.items)[0]),
        more_count=_untold_count(row, pressing),
        defect_words=_defect_words(len(row.due.condition.defects)),
        check_words=_check_words(row, board),
        asked=asked_words(row.asked_by, viewer),
        may_be_reminded=row.may_be_reminded,
    )


def _untold_count(row: BoardRow, pressing: list[DueLine]) -> int:
    """How many of the pressing items neither are a reason for being off the road nor, without reasons, come first."""
    reasons = {reason.name for reason in row.due.reasons}
    return sum(line.kind.name not in reasons for line in pressing[0 if reasons else 1 :])


def _defect_words(count: int) -> str:
    return f"{count} defect{'s' if count > 1 else ''} open" if count else ""


def _check_words(row: BoardRow, board: Board) -> str:
    """How long ago the car was looked round."""
    if row.last_check_on is None:
        return "never looked round"
    days = (board.on - row.last_check_on).days
    return {0: "looked round today", 1: "looked round yesterday"}.get(days, f"looked round {days} days ago")


def _sheet_lines(row: BoardRow, within: int | None) -> list[DueWords]:
    return [words_of(line) for line in (row.due.items if within is None else row.lines(within))]


def _credentials(lines: list[DueLine]) -> list[tuple[str, DueWords]]:
    """Members' credentials in words, each with the member's name."""
    return [(line.subject.member.name, words_of(line)) for line in lines]
