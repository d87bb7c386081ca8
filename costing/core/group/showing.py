"""Which figures of a closed month may be shown today."""

from collections.abc import Mapping
from decimal import Decimal
from typing import NamedTuple

from costing.core.group.closing import CLOSED_FIGURES, Closing
from costing.core.group.contributors import LOWEST_MINIMUM, QUARTILE_MINIMUM
from costing.core.group.medians import Rounding


class Shown(NamedTuple):
    """A closing as every member may see it: whole pence, None for a figure that is not shown.

    ``minimum`` is today's or the one at closing, whichever is larger. If ``suppressed``, no figure is shown.
    """

    contributors: int
    out: int
    minimum: int
    rounded_to: int
    suppressed: bool
    median_cost_per_lesson_hour: int | None
    median_cost_per_mile: int | None
    lower_quartile_cost_per_lesson_hour: int | None
    upper_quartile_cost_per_lesson_hour: int | None

    @property
    def mile_rounded_to(self) -> int:
        """The step, in pence, to which the cost of a mile is rounded."""
        return Rounding(self.rounded_to).mile


def shown(closing: Closing, minimum: int) -> Shown:
    """Return what of ``closing`` may be shown where the co-op's minimum is ``minimum`` today.

    A minimum below the one at closing counts as that one.
    """
    minimum = max(minimum, closing.minimum, LOWEST_MINIMUM)
    enough = closing.contributors >= minimum
    figures = closing if enough else closing.without_figures
    if closing.contributors < QUARTILE_MINIMUM:
        figures = figures._replace(lower_quartile_cost_per_lesson_hour=None, upper_quartile_cost_per_lesson_hour=None)
    told = (getattr(figures, name) for name in CLOSED_FIGURES)
    return Shown(closing.contributors, closing.out, minimum, closing.rounded_to, not figures.has_figures, *told)


def shown_running(medians: Mapping[str, Decimal | None], closed_with: int, minimum: int) -> dict[str, Decimal]:
    """Return which of a closed year's ``medians`` of running costs may be shown where the minimum is ``minimum`` today.

    They are pounds a year and pence a mile, by key of `RUNNING_STEPS`. None is shown if the minimum is higher than the
    one that the year was ``closed_with``: the book does not store how many contributed to each.
    """
    if max(minimum, LOWEST_MINIMUM) > closed_with:
        return {}
    return {key: median for key, median in medians.items() if median is not None}
