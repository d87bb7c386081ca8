"""What is written to the book: entries logged, corrected and voided, how cars are held, what they are worth.

Each action is one transaction. Refusals are `ValidationError`, by field where one field is to blame. Only a
car's keeper logs on it; what was logged stays with whoever logged it, and only they change it.
"""

from costing.actions.agreements import correct_agreement, correct_valuation, record_agreement, record_valuation
from costing.actions.entries import correct_entry, log_cost, log_fill, log_teaching, void_entry

__all__ = [
    "correct_agreement",
    "correct_entry",
    "correct_valuation",
    "log_cost",
    "log_fill",
    "log_teaching",
    "record_agreement",
    "record_valuation",
    "void_entry",
]
