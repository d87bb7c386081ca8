"""How long the book keeps what its members spend, and what is made of it. Nothing that a tax return needs ever goes."""

from collections.abc import Iterator
from datetime import datetime

from config import budgets
from config.housekeeping import STORAGE_LIMITATION, Kept, delete_some
from config.whole_files import sweep_files_of_none
from costing.actions.papers import sweep_papers
from costing.core.group import YEARS_SHARE_MONTHS
from costing.models import ToldOfContributor
from costing.queries import closed_months
from costing.queries.papers import PAPERS_FOLDER, files_of_papers
from costing.queries.receipts import RECEIPTS_FOLDER, files_of_receipts
from fleet.core.days import add_months


def _clean_papers(now: datetime) -> int:
    return sweep_papers(now) + sweep_files_of_none(PAPERS_FOLDER, files_of_papers, now)


def _clean_receipts(now: datetime) -> int:
    return sweep_files_of_none(RECEIPTS_FOLDER, files_of_receipts, now)


def _clean_told(now: datetime) -> int:
    newest = next(iter(closed_months()), None)
    if newest is None:
        return 0
    return delete_some(ToldOfContributor.objects.filter(figure__month__lt=add_months(newest, -YEARS_SHARE_MONTHS)))


def _rows() -> Iterator[Kept]:
    yield Kept(
        "money",
        "Costs, fills, lessons, receipts, agreements, values and takings; and what each was before it was changed",
        "As long as the book is kept, unless their member has them erased. The book deletes none of them by itself",
        "Whoever works for themselves must keep the records of a tax year for at least five years after the 31 January "
        "by which its return is due, and what a car cost for as long as it is claimed for.",
        "Taxes Management Act 1970, section 12B; GOV.UK, Business records if you're self-employed",
    )
    yield Kept(
        "plans",
        "Comparisons of offers, what to charge, the weekly pot, and what was said not to be odd",
        "Until their member removes them, or has all erased",
        "They are their member's own, and nobody else sees them.",
    )
    yield Kept(
        "figures",
        "The group's figures of closed months",
        "As long as the book is kept",
        "They are rounded medians of five members or more, and name nobody.",
    )
    yield Kept(
        "papers",
        "Papers that the book made as files",
        f"{budgets.PAPER_DAYS} days",
        "They can be asked for again at any time.",
        STORAGE_LIMITATION,
        _clean_papers,
    )
    yield Kept(
        "receipts",
        "Photos of receipts whose entry was never saved",
        "1 day",
        "A photo is written before its entry; if that is refused, nobody can see it.",
        STORAGE_LIMITATION,
        _clean_receipts,
    )
    yield Kept(
        "told",
        "What the group's figures could tell of each member to somebody who knew all the others; no page shows it",
        f"Until {YEARS_SHARE_MONTHS} more months are closed",
        "A year that, with the months before it, would tell too much of anybody is not closed.",
        STORAGE_LIMITATION,
        _clean_told,
    )


#: What the book keeps of money.
OF_MONEY = tuple(_rows())
