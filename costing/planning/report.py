"""What is coming, as page, home and paper ask for it: what is left, what lessons cost, and the weekly pot."""

from costing.planning.services.left_over import OF_HOME, LeftOver, left_line, left_over, sentence
from costing.planning.services.own_cost import OwnCost, own_cost
from costing.planning.services.pot import PotReport, pot_line, pot_report

__all__ = [
    "OF_HOME",
    "LeftOver",
    "OwnCost",
    "PotReport",
    "left_line",
    "left_over",
    "own_cost",
    "pot_line",
    "pot_report",
    "sentence",
]
