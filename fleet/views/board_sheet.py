"""The printed list of the board: made at once if it is short, else asked of the worker."""

from collections.abc import Callable

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from config import budgets
from config.form_page import SeeOther, go_on
from config.http import read_or_write
from config.pdf import pdf_response, render_pdf, telling_pages
from fleet import queries
from fleet.papers import AskedPaper, ask_for_paper
from fleet.queries import Board
from fleet.views.board_filters import address_of, filter_words, filters_of
from fleet.views.board_words import counts_of, credentials_of, report_of
from instructors.access import MemberRequest, few_papers
from instructors.models import Member
from instructors.queries import cooperative

#: Cars that fit a page, to tell how many pages there will be.
_CARS_OF_PAGE = 12


@read_or_write
@few_papers
def board_sheet(request: MemberRequest) -> HttpResponse:
    """The board on paper: every car, or those that the filters leave. Of many it is asked for by a key."""
    today = timezone.localdate()
    board = queries.board(request.user, today, filters_of(request.GET))
    asked = address_of(board.filters)
    if len(board.rows) > budgets.CARS_OF_PAPER:
        most, count = budgets.CARS_OF_PAPER, len(board.rows)
        words = f"A printed list has {most} cars at most, and this one {count}. Filter them first."
        return go_on(request, words, "fleet:car-list", level=messages.ERROR)
    if request.method == "POST":
        return _asked(request, board, asked)
    if len(board.rows) > budgets.CARS_AT_ONCE:
        back = reverse("fleet:car-list") + (f"?{asked}" if asked else "")
        context = {"title": "Cars", "length": f"{len(board.rows)} cars", "of": "the cars", "back": back}
        return render(request, "long_paper.html", context)
    return pdf_response(_pdf_of(board, request.user), f"cars-{today:%Y-%m-%d}.pdf")


def make_board(paper: AskedPaper, told: Callable[[int, int], None]) -> bytes:
    """The paper of the board on the day on which it was asked for, with no more rights than it was asked for with."""
    # Whether a coordinator has the second factor that the co-op asks for is known of a request alone.
    paper.member.lacks_factor = not paper.of_coordinator
    board = queries.board(paper.member, paper.first, filters_of(QueryDict(paper.asked)))
    with telling_pages(told, 1 + len(board.rows) // _CARS_OF_PAGE):
        return _pdf_of(board, paper.member)


def _asked(request: MemberRequest, board: Board, asked: str) -> HttpResponse:
    """Ask for the paper and go on to its page, or say why it is not made."""
    try:
        place = ask_for_paper(by=request.user, kind="cars", on=board.on, asked=asked)
    except ValidationError as refusal:
        return go_on(request, " ".join(refusal.messages), "fleet:car-list", level=messages.ERROR)
    return SeeOther(place)


def _pdf_of(board: Board, viewer: Member) -> bytes:
    context = {
        "board": board,
        "cooperative": cooperative(),
        "report": report_of(board, board.rows, viewer),
        "counts": counts_of(board),
        "filter_words": filter_words(board),
        "credentials": credentials_of(board.credentials),
    }
    return render_pdf("fleet/pdf/board.html", context)
