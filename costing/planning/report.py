"""What is coming, as the rest of the book may ask for it."""

from costing.planning.services.pot import PotReport, pot_line, pot_report

__all__ = ["PotReport", "pot_line", "pot_report"]
