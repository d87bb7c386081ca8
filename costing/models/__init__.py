"""What was paid, put in the tank and taught, how cars are held and chosen, and the group's frozen figures.

Money is ``Decimal`` pounds with two places here and whole pence in the calculations. A record made on a
phone carries a ``ref`` made there: sent again, it changes nothing.
"""

from costing.models.agreements import Agreement, PaymentFrequency, Valuation
from costing.models.choosing import Comparison, Offer
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
