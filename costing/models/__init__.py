"""Costs, fills and lessons, agreements and valuations, offers for a next car, the group's closed figures, and plans.

Money is ``Decimal`` pounds with two places here, and whole pence in the calculations. A record from a phone carries a
``ref`` made with the form, so that sending it again changes nothing.
"""

from costing.models.agreements import Agreement, PaymentFrequency, Valuation
from costing.models.batches import Batch, BatchKind, Interval, Payee, Repeat
from costing.models.comparisons import Comparison, Offer
from costing.models.dismissals import Dismissal
from costing.models.entries import CostEntry, Entry, Fill, FillUnit, TeachingRecord
from costing.models.group import GroupFigure, Span, ToldOfContributor
from costing.models.papers import Paper, PaperState
from costing.models.planning import ChargePlan, Takings
from costing.models.pot import PotBill, PotPlan
from costing.models.receipts import Receipt
from costing.models.settled import SettledDue

__all__ = [
    "Agreement",
    "Batch",
    "BatchKind",
    "ChargePlan",
    "Comparison",
    "CostEntry",
    "Dismissal",
    "Entry",
    "Fill",
    "FillUnit",
    "GroupFigure",
    "Interval",
    "Offer",
    "Paper",
    "PaperState",
    "Payee",
    "PaymentFrequency",
    "PotBill",
    "PotPlan",
    "Receipt",
    "Repeat",
    "SettledDue",
    "Span",
    "Takings",
    "TeachingRecord",
    "ToldOfContributor",
    "Valuation",
]
