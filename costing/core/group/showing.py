"""What of a closed month may be seen today."""

from typing import NamedTuple

from costing.core.group.closing import Closing
from costing.core.group.contributors import LOWEST_MINIMUM, QUARTILE_MINIMUM
from costing.core.group.rounding import Rounding


class Shown(NamedTuple):
    """A closing as everybody may see it: whole pence, None for what is not shown.

    ``minimum`` is the larger of the one it was closed with and today's; ``suppressed``: no figure is shown.
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
        """The step, in pence, of a mile."""
        return Rounding(self.rounded_to).mile


def shown(closing: Closing, minimum: int) -> Shown:
    """Return what is seen of ``closing`` where the co-op's minimum is ``minimum`` today, never less than at closing."""
    minimum = max(minimum, closing.minimum, LOWEST_MINIMUM)
    enough = closing.contributors >= minimum
    figures = closing if enough else closing.without_figures
    if closing.contributors < QUARTILE_MINIMUM:
        figures = figures._replace(lower_quartile_cost_per_lesson_hour=None, upper_quartile_cost_per_lesson_hour=None)
    contributors, out, _, *rest = figures
    return Shown(contributors, out, minimum, closing.rounded_to, not figures.has_figures, *rest[1:])
