"""The board of all cars, and its printed list."""

from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.pdf import pdf_response, render_pdf
from fleet import queries
from fleet.core import registration as marks
from fleet.core.board import OBLIGATIONS, OF_CARS, Urgency
from fleet.forms import LONGEST_SEARCH, WITHIN, BoardFilterForm
from fleet.queries import Board, BoardFilters, DueLine
from fleet.views.board_words import URGENCY_WORDS, report_of
from fleet.views.wording import DueWords, words_of
from fleet.wording import verdict_words
from instructors.access import MemberRequest
from instructors.queries import cooperative

#: Cars, and credentials below them. A car takes 2 to 4 kB, more the less is known of it: a page stays below 60 kB.
PAGE_LENGTH = 12
#: Of these the board says how many cars there are.
_COUNTED = tuple(urgency for urgency in OF_CARS if urgency is not Urgency.LATER)
#: The longest number of a row in either database.
_LONGEST_ID = 18


@require_safe
def car_list(request: MemberRequest) -> HttpResponse:
    """Every car for a coordinator, their own for a member; worst first, by obligation."""
    board = queries.board(request.user, timezone.localdate(), _filters(request))
    page = Paginator(board.rows, PAGE_LENGTH).get_page(request.GET.get("page"))
    asked_for = _asked_for(board.filters)
    query = urlencode(asked_for)
    context = {
        "board": board,
        "page": page,
        "report": report_of(board, page.object_list, request.user),
        "counts": _counts(board),
        "verdict": _verdict(board),
        "form": BoardFilterForm(
            asked_for,
            keepers=[(keeper.pk, keeper.name) for keeper in board.keepers],
            states=[(urgency, URGENCY_WORDS[urgency].capitalize()) for urgency in Urgency],
        ),
        "filter_words": _filter_words(board),
        "query": f"?{query}" if query else "",
        "page_query": f"{query}&" if query else "",
        "credentials": Paginator(_credentials(board.credentials), PAGE_LENGTH).get_page(request.GET.get("credentials")),
        "without_licence": board.without_licence[:PAGE_LENGTH],
        "more_without_licence": max(0, len(board.without_licence) - PAGE_LENGTH),
        "has_kept": not board.car_count and queries.has_ever_kept(request.user),
        "shows_former": "out-of-service" in request.GET,
        "keeperless": queries.keeperless_cars(timezone.localdate()) if request.user.is_coordinator else [],
        "reminders_are_late": request.user.is_coordinator and queries.reminders_are_late(timezone.now()),
    }
    return render(request, "fleet/car_list.html", context)


@require_safe
def board_sheet(request: MemberRequest) -> HttpResponse:
    """The board on paper: every car, or those that the filters leave."""
    today = timezone.localdate()
    board = queries.board(request.user, today, _filters(request))
    context = {
        "board": board,
        "cooperative": cooperative(),
        "report": report_of(board, board.rows, request.user),
        "counts": _counts(board),
        "filter_words": _filter_words(board),
        "credentials": _credentials(board.credentials),
    }
    return pdf_response(render_pdf("fleet/pdf/board.html", context), f"cars-{today:%Y-%m-%d}.pdf")


def _filters(request: HttpRequest) -> BoardFilters:
    """The filters in the address; what is none is ignored."""
    asked = request.GET
    keeper = asked.get("kept_by", "")
    is_id = keeper.isascii() and keeper.isdecimal() and len(keeper) <= _LONGEST_ID
    return BoardFilters(
        text=asked.get("q", "").strip()[:LONGEST_SEARCH],
        keeper_id=int(keeper) if is_id else None,
        obligation=asked.get("kind", "") if asked.get("kind") in OBLIGATIONS else "",
        urgency=next((urgency for urgency in Urgency if urgency == asked.get("state")), None),
        within=next((days for days in WITHIN if str(days) == asked.get("within")), None),
    )


def _asked_for(filters: BoardFilters) -> dict[str, object]:
    """The filters in force by their names in an address."""
    parts = {
        "q": filters.text,
        "kept_by": filters.keeper_id,
        "kind": filters.obligation,
        "state": filters.urgency,
        "within": filters.within,
    }
    return {name: value for name, value in parts.items() if value}


def _counts(board: Board) -> list[tuple[Urgency, int, str]]:
    """How many cars stand how, of all: those that something must be done about, worst first."""
    found = [(urgency, board.counts[urgency], URGENCY_WORDS[urgency]) for urgency in _COUNTED]
    return [one for one in found if one[1]]


def _verdict(board: Board) -> str:
    """The verdict on the only car there is, in a sentence; empty if there are several."""
    if board.car_count != 1 or not board.rows:
        return ""
    [row] = board.rows
    return verdict_words(row.due.verdict, marks.show(row.car.registration), row.due.titles, board.on)


def _filter_words(board: Board) -> list[str]:
    """What the filters in force ask for; empty without any."""
    asked_for = board.filters
    words = []
    if asked_for.text:
        words.append(f"\u201c{asked_for.text}\u201d in mark, keeper or description")
    words += [f"kept by {keeper.name}" for keeper in board.keepers if keeper.pk == asked_for.keeper_id]
    if asked_for.obligation:
        state = URGENCY_WORDS[asked_for.urgency] if asked_for.urgency else "something to do"
        words.append(f"{OBLIGATIONS[asked_for.obligation].words}: {state}")
    elif asked_for.urgency:
        words.append(URGENCY_WORDS[asked_for.urgency])
    if asked_for.within:
        words.append(f"off the road, overdue, not known, or due within {asked_for.within} days")
    return words


def _credentials(lines: list[DueLine]) -> list[tuple[str, DueWords]]:
    """Members' credentials in words, each with the member's name."""
    return [(line.subject.member.name, words_of(line)) for line in lines]
