"""What the costs write to the book: entries logged, corrected and voided, agreements and valuations.

Each action is one transaction. It refuses with `ValidationError`, by field if one field is to blame. Only a car's
keeper logs on it. An entry stays with whoever logged it, and only they can change it.
"""

from costing.actions.agreements import correct_agreement, correct_valuation, record_agreement, record_valuation
from costing.actions.dismissals import dismiss, take_back
from costing.actions.entries import correct_entry, log_cost, log_fill, log_teaching, void_entry
from costing.actions.papers import ask_for_paper, make_paper, remove_paper, sweep_papers
from costing.actions.receipts import drop_receipt, keep_receipts
from costing.actions.repeats import change_repeat, make_all_due, make_due, record_repeat, repeat_agreement, stop_repeat
from costing.actions.together import NotLogged, log_together
from costing.actions.undo import undo_batch, undo_entry
from costing.actions.week import log_week

__all__ = [
    "NotLogged",
    "ask_for_paper",
    "change_repeat",
    "correct_agreement",
    "correct_entry",
    "correct_valuation",
    "dismiss",
    "drop_receipt",
    "keep_receipts",
    "log_cost",
    "log_fill",
    "log_teaching",
    "log_together",
    "log_week",
    "make_all_due",
    "make_due",
    "make_paper",
    "record_agreement",
    "record_repeat",
    "record_valuation",
    "remove_paper",
    "repeat_agreement",
    "stop_repeat",
    "sweep_papers",
    "take_back",
    "undo_batch",
    "undo_entry",
    "void_entry",
]
