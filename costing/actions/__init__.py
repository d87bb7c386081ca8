"""What the costs write to the book: entries logged, corrected and voided, agreements and valuations.

Each action is one transaction. It refuses with `ValidationError`, by field if one field is to blame. Only a car's
keeper logs on it. An entry stays with whoever logged it, and only they can change it.
"""

from costing.actions.agreements import correct_agreement, correct_valuation, record_agreement, record_valuation
from costing.actions.entries import correct_entry, log_cost, log_fill, log_teaching, void_entry
from costing.actions.undo import undo_batch, undo_entry
from costing.actions.week import log_week

__all__ = [
    "correct_agreement",
    "correct_entry",
    "correct_valuation",
    "log_cost",
    "log_fill",
    "log_teaching",
    "log_week",
    "record_agreement",
    "record_valuation",
    "undo_batch",
    "undo_entry",
    "void_entry",
]
