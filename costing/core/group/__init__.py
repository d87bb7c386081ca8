"""The group's figures: who contributes, how they are worked out, and what may be stored and shown.

No other code decides this. It treats everybody as an attacker, alone or in league, with invented members. So only
rounded figures leave this package, only from enough contributors, no quartiles that would give away too much beside
their median, and no year that would beside the months and years closed before it.
"""

from costing.core.group.closing import (
    CLOSED_FIGURES,
    YEARS_SHARE_MONTHS,
    ClosedPeriod,
    Closing,
    Contribution,
    close_month,
    close_year,
    told_of_each,
)
from costing.core.group.contributors import (
    LOWEST_MINIMUM,
    MINIMUM_SERVICE_DAYS,
    QUARTILE_MINIMUM,
    STANDING_DAYS,
    ContributorValues,
    contributor_values,
    has_standing,
)
from costing.core.group.disclosure import Told
from costing.core.group.medians import (
    RUNNING_STEPS,
    Rounding,
    fuel_key,
    is_of_fuel,
    may_have_running,
    quantile,
    rounded,
    running_medians,
)
from costing.core.group.showing import Shown, shown, shown_running

__all__ = [
    "CLOSED_FIGURES",
    "LOWEST_MINIMUM",
    "MINIMUM_SERVICE_DAYS",
    "QUARTILE_MINIMUM",
    "RUNNING_STEPS",
    "STANDING_DAYS",
    "YEARS_SHARE_MONTHS",
    "ClosedPeriod",
    "Closing",
    "Contribution",
    "ContributorValues",
    "Rounding",
    "Shown",
    "Told",
    "close_month",
    "close_year",
    "contributor_values",
    "fuel_key",
    "has_standing",
    "is_of_fuel",
    "may_have_running",
    "quantile",
    "rounded",
    "running_medians",
    "shown",
    "shown_running",
    "told_of_each",
]
