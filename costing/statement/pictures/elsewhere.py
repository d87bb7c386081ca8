"""Lessons in cars that a member never kept, in a sentence."""

from config.showing import hours_taught
from costing.statement.report import Statement
from fleet.core.registration import show


def elsewhere_of(statement: Statement) -> list[str]:
    """Say how long a member taught in them and in which, and that it counts in no figure; nothing without any."""
    found = statement.elsewhere
    if found is None:
        return []
    car = f"{'a car' if len(found.cars) == 1 else 'cars'} that you did not keep"
    marks = ", ".join(show(one.registration) for one in found.cars)
    if found.minutes is None:
        return [f"Lessons whose hours were not entered were taught in {car} ({marks}): they count in no figure here."]
    was, they = ("was", "it counts") if found.minutes == 60 else ("were", "they count")
    return [f"{hours_taught(found.minutes)} {was} taught in {car} ({marks}): {they} in no figure here."]
