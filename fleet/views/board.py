"""The board of all cars."""

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from fleet import queries
from fleet.core import registration as marks
from fleet.core.board import Urgency
from fleet.forms import BoardFilterForm
from fleet.queries import Board, KeeperlessCar
from fleet.views.board_filters import address_of, asked_for, filter_words, filters_of
from fleet.views.board_words import URGENCY_WORDS, counts_of, credentials_of, report_of
from fleet.wording import verdict_words
from instructors.access import MemberRequest
from instructors.models import Member

#: Cars, and credentials below them. A car takes 2 to 4 kB, more the less is known of it: a page stays below 60 kB.
PAGE_LENGTH = 12


@require_safe
def car_list(request: MemberRequest) -> HttpResponse:
    """Every car for a coordinator, their own for a member; worst first, by obligation."""
    board = queries.board(request.user, timezone.localdate(), filters_of(request.GET))
    page = Paginator(board.rows, PAGE_LENGTH).get_page(request.GET.get("page"))
    query = address_of(board.filters)
    context = {
        "board": board,
        "page": page,
        "report": report_of(board, page.object_list, request.user),
        "counts": counts_of(board),
        "verdict": _verdict(board),
        "form": BoardFilterForm(
            asked_for(board.filters),
            keepers=[(keeper.pk, keeper.name) for keeper in board.keepers],
            states=[(urgency, URGENCY_WORDS[urgency].capitalize()) for urgency in Urgency],
        ),
        "filter_words": filter_words(board),
        "query": f"?{query}" if query else "",
        "page_query": f"{query}&" if query else "",
        "credentials": Paginator(credentials_of(board.credentials), PAGE_LENGTH).get_page(
            request.GET.get("credentials")
        ),
        "without_licence": board.without_licence[:PAGE_LENGTH],
        "more_without_licence": max(0, len(board.without_licence) - PAGE_LENGTH),
        "has_kept": not board.car_count and queries.has_ever_kept(request.user),
        "shows_former": "out-of-service" in request.GET,
        "former": Paginator(board.former_cars, PAGE_LENGTH).get_page(request.GET.get("out-of-service")),
        "keeperless": Paginator(_keeperless(request.user), PAGE_LENGTH).get_page(request.GET.get("keeperless")),
        "reminders_are_late": request.user.is_coordinator and queries.reminders_are_late(timezone.now()),
    }
    return render(request, "fleet/car_list.html", context)


def _keeperless(member: Member) -> list[KeeperlessCar]:
    """What coordinators are to see to; of others' cars a member hears nothing."""
    return queries.keeperless_cars(timezone.localdate()) if member.is_coordinator else []


def _verdict(board: Board) -> str:
    """The verdict on the only car there is, in a sentence; empty if there are several."""
    if board.car_count != 1 or not board.rows:
        return ""
    [row] = board.rows
    return verdict_words(row.due.verdict, marks.show(row.car.registration), row.due.titles, board.on)
