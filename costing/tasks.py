"""Tasks of the costs: each calls one function."""

from uuid import UUID

from django.conf import settings
from django.utils import timezone
from django.utils.module_loading import import_string

from config import budgets
from config.celery import app
from config.later import soon
from costing import actions
from costing.actions import make_all_due
from costing.actions.papers import MAKE_TASK
from costing.archive.everything import make_export
from costing.closing import close_past_months
from costing.queries import papers_to_make
from costing.statement.papers import MAKERS


@app.task
def close_months() -> None:
    """Close every month whose closing day has come; closed months stay as they are."""
    close_past_months(timezone.localdate())


@app.task
def make_what_repeats() -> None:
    """Make the entries of all that repeats and fell due by today, each once however often this runs."""
    make_all_due(timezone.localdate())


# A little longer than its member waits for it: what makes it and hangs is then ended.
@app.task(time_limit=budgets.PAPER_SECONDS + 30)
def make_paper(pk: str) -> None:
    """Make one paper, unless somebody is at it."""
    below = {kind: import_string(maker) for kind, maker in settings.PAPERS_BELOW.items()}
    actions.make_paper(UUID(pk), MAKERS | {"export": make_export} | below)


@app.task
def make_waiting_papers() -> None:
    """Have the papers made that wait: nobody was told of them, or whoever was at it has ended."""
    for pk in papers_to_make():
        soon(MAKE_TASK, str(pk))
