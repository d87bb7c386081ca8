"""The figures of a report as commands and files give them: pounds with two decimals, None for an absent one."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from costing.core.money import to_places, to_pounds
from costing.report import Figures


def money(pence: int | None) -> str | None:
    """Return pounds with two decimals, as 1234.56; None for an absent sum."""
    return None if pence is None else str(to_pounds(pence))


def figures(report: Figures, missing: Sequence[str]) -> dict[str, Any]:
    """Return the figures of a report by the names that formats.md gives them, with why one is ``missing``."""
    cost = report.cost
    return {
        "miles": cost.miles,
        "private_miles": cost.private_miles,
        "business_share": None if report.business_share is None else str(report.business_share),
        "lessons": cost.lessons,
        "lesson_hours": None if cost.minutes is None else float(to_places(Fraction(cost.minutes, 60), 2)),
        "true_cost": money(cost.true_cost),
        "by_category": {name: money(pence) for name, pence in cost.by_category.items()},
        "money_out": money(cost.money_out),
        "cost_per_mile": money(cost.cost_per_mile),
        "cost_per_lesson_hour": money(cost.cost_per_lesson_hour),
        "cost_per_lesson": money(cost.cost_per_lesson),
        "mpg": None if report.mpg is None else float(report.mpg),
        "miles_per_kwh": None if report.miles_per_kwh is None else float(report.miles_per_kwh),
        "estimated": list(cost.estimated),
        "missing": list(missing),
        "known_until": cost.known_until,
    }
