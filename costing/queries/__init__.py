"""What the costs read from the book."""

from costing.queries.books import CarsOf, books_of_members, car_books
from costing.queries.cover import usual_days
from costing.queries.entries import (
    ENTRY_MODELS,
    batch_for,
    cars_with_money_of,
    entry_for,
    fill_question,
    first_entry_on,
    last_logged,
    logged_as,
)
from costing.queries.figures import (
    RunningFigures,
    closed_months,
    closing_of,
    closings,
    closings_of_year,
    first_month_to_close,
    running_figures,
    told_since,
    years_with_running,
)
from costing.queries.papers import paper_for, papers_of, papers_to_make
from costing.queries.receipts import entry_with_receipts_for, receipt_for, receipts_of

__all__ = [
    "ENTRY_MODELS",
    "CarsOf",
    "RunningFigures",
    "batch_for",
    "books_of_members",
    "car_books",
    "cars_with_money_of",
    "closed_months",
    "closing_of",
    "closings",
    "closings_of_year",
    "entry_for",
    "entry_with_receipts_for",
    "fill_question",
    "first_entry_on",
    "first_month_to_close",
    "last_logged",
    "logged_as",
    "paper_for",
    "papers_of",
    "papers_to_make",
    "receipt_for",
    "receipts_of",
    "running_figures",
    "told_since",
    "usual_days",
    "years_with_running",
]
