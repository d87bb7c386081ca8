"""What was paid, filled up and taught, the agreements and comparisons of members, and the group's closed figures.

Money is ``Decimal`` pounds with two places here and whole pence in the calculations. A record made on a
phone carries a ``ref`` made there: sent again, it changes nothing.
"""

from costing.models.agreements import Agreement, PaymentFrequency, Valuation
from costing.models.comparisons import Comparison, Offer
from costing.models.entries import CostEntry, Entry, Fill, FillUnit, TeachingRecord
from costing.models.group import GroupFigure, Span

__all__ = [
    "Agreement",
    "Comparison",
    "CostEntry",
    "Entry",
    "Fill",
    "FillUnit",
    "GroupFigure",
    "Offer",
    "PaymentFrequency",
    "Span",
    "TeachingRecord",
    "Valuation",
]
