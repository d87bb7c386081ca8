"""The group's figures: who counts in them, how they are worked out, and what of them may be kept and shown.

Nothing else decides that. Everybody is taken for an attacker, alone or in league, with members of their own making:
only rounded figures leave this place, from enough contributors, and no year that with its months tells too much.
"""

from costing.core.group.closing import Closing, Part, close_month, close_year
from costing.core.group.contributors import (
    LOWEST_MINIMUM,
    MINIMUM_SERVICE_DAYS,
    QUARTILE_MINIMUM,
    STANDING_DAYS,
    ContributorValues,
    contributor_values,
    has_standing,
)
from costing.core.group.medians import RUNNING_STEPS, fuel_key, quantile, running_medians
from costing.core.group.rounding import Rounding, rounded
from costing.core.group.showing import Shown, shown

__all__ = [
    "LOWEST_MINIMUM",
    "MINIMUM_SERVICE_DAYS",
    "QUARTILE_MINIMUM",
    "RUNNING_STEPS",
    "STANDING_DAYS",
    "Closing",
    "ContributorValues",
    "Part",
    "Rounding",
    "Shown",
    "close_month",
    "close_year",
    "contributor_values",
    "fuel_key",
    "has_standing",
    "quantile",
    "rounded",
    "running_medians",
    "shown",
]
