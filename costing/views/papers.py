"""Papers that the worker makes: how far each is, its file, and the member's list of them."""

from typing import Any
from uuid import UUID

from django.http import FileResponse, Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config import budgets
from config.form_page import go_on, page_or_fragment
from config.http import read_or_write
from config.pdf import pdf_response
from config.showing import near_day
from config.whole_files import may_be_there
from costing.actions import remove_paper
from costing.core.catalogue.papers import PAPER_KINDS
from costing.core.records import Period
from costing.models import Paper, PaperState
from costing.queries import paper_for, papers_of
from costing.wording.periods import title_of as days_of
from fleet.core.registration import show
from instructors.access import MemberRequest, few_files


@require_safe
def paper_list(request: MemberRequest) -> HttpResponse:
    """The member's papers, the last one asked for first."""
    papers = [_shown(paper) for paper in papers_of(request.user)]
    return render(request, "costing/paper_list.html", {"papers": papers, "days": budgets.PAPER_DAYS})


@require_safe
def paper(request: MemberRequest, pk: UUID) -> HttpResponse:
    """How far a paper is, and the way to its file once it is made; htmx asks for it again until then."""
    context = _shown(paper_for(request.user, pk)) | {"days": budgets.PAPER_DAYS}
    return render(request, page_or_fragment(request, "costing/paper.html"), context)


@require_safe
@few_files
def paper_file(request: MemberRequest, pk: UUID) -> HttpResponseBase:
    """The file of a paper that is made. A large one goes out as it is read, to be kept and not to be looked at."""
    made = paper_for(request.user, pk)
    if not made.is_made:
        raise Http404
    suffix = PAPER_KINDS[made.kind].suffix
    mark = f"-{made.car.registration}" if made.car else ""
    days = f"{made.first}-to-{made.last}" if made.first < made.last else made.first
    name = f"{made.kind}-{days}{mark}{suffix}"
    try:
        file = made.file.open("rb")
    except FileNotFoundError as lost:
        raise Http404 from lost
    if suffix != ".pdf":
        return FileResponse(file, as_attachment=True, filename=name, content_type="application/zip")
    with file:
        return pdf_response(file.read(), name)


@read_or_write
def paper_remove(request: MemberRequest, pk: UUID) -> HttpResponse:
    """Remove a paper, once the member has seen which."""
    kept = paper_for(request.user, pk)
    if request.method == "POST":
        remove_paper(by=request.user, paper=kept)
        return go_on(request, "The paper was removed.", "costing:paper-list")
    return render(request, "costing/paper_remove.html", _shown(kept))


def _shown(paper: Paper) -> dict[str, Any]:
    """What pages say of a paper."""
    return {"paper": paper, "title": title_of(paper), "stands": _stands(paper), "is_lost": _is_lost(paper)}


def title_of(paper: Paper) -> str:
    """What a paper is: Statement, October 2026, QA51 ABC."""
    days = days_of(Period(paper.first, paper.last))
    narrowed = [show(paper.car.registration)] if paper.car else ["some of them"] if paper.asked else []
    return ", ".join([paper.get_kind_display(), days, *narrowed])


def _stands(paper: Paper) -> str:
    """How far a paper is, in words."""
    if paper.state == PaperState.QUEUED:
        return "Waits for its turn"
    if paper.state == PaperState.FAILED:
        return paper.error
    if paper.made_at:
        made = timezone.localtime(paper.made_at)
        return f"Made {near_day(made.date(), timezone.localdate())} at {made:%H:%M}"
    return f"Page {paper.page} of about {paper.pages}" if paper.page else "Has just begun"


def _is_lost(paper: Paper) -> bool:
    """Whether its file is gone, from a book that was restored without its files."""
    return paper.is_made and not may_be_there(paper.file)
