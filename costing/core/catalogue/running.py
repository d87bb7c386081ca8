"""The running costs of a car, as a comparison counts them and an offer may include them."""

from collections.abc import Sequence
from enum import Enum, StrEnum
from fractions import Fraction
from typing import NamedTuple

from costing.core.catalogue import costs
from costing.core.catalogue.costs import CostCategory


class When(Enum):
    """When a running cost is paid, which decides how it is worked out. A cash flow lists them in this order."""

    AT_START = "once, at the start"
    PREMIUMS = "a list of yearly sums, each paid at the start of its year"
    YEAR_STARTS = "at the start of each year"
    YEAR_ENDS_WITH_MOT = "at the end of each year, once the car is old enough for an MOT"
    MONTHLY = "so much a year, in equal monthly parts"
    BY_SET = "for the share of a set that the miles wear out, in equal monthly parts"
    BY_MILE = "for each mile, in equal monthly parts"


class MoneyGroup(StrEnum):
    """What the money of an offer goes on, in the order in which a comparison asks for it."""

    CAR = "The car itself"
    INSURANCE = "Insurance"
    TAX_AND_TEST = "Tax, MOT and breakdown cover"
    UPKEEP = "Servicing, repairs and tyres"
    FUEL = "Fuel"
    FIT_OUT = "Fit-out for tuition"


class RunningPart(NamedTuple):
    """One running cost. ``key`` is its key in an offers document, and ``category`` the one that it is logged under.

    ``missing`` names it in a list of what is missing. ``varied`` names it in a sentence on how far it may go; only a
    part with such a name may be uncertain. ``question``, ``hint`` and ``example`` belong to its field. ``median_step``
    is what the group's median is rounded to, in pounds a year or pence a mile; without one the group keeps no median.
    """

    name: str
    key: str
    words: str
    missing: str
    when: When
    category: CostCategory
    group: MoneyGroup
    question: str
    example: str = "260"
    hint: str = ""
    varied: str = ""
    included_words: str = ""
    median_step: Fraction | None = None
    life_key: str = ""  # the document's key for how many miles a set lasts
    is_plural: bool = False  # in a sentence: repairs cost, fuel costs
    given_back_key: str = ""  # the document's key for the share that comes back on leaving inside a year

    @property
    def field(self) -> str:
        """Its field in a table of running costs, where fuel by the mile and by economy are one."""
        return self.name if self.when is When.BY_MILE else self.key

    @property
    def fields(self) -> tuple[str, ...]:
        """Every field of that table on which its cost rests."""
        return tuple(name for name in (self.field, self.life_key, self.given_back_key) if name)

    @property
    def as_included(self) -> str:
        """What a member ticks if an offer includes it."""
        return self.included_words or self.words


_TO_50_POUNDS = Fraction(50)

INSURANCE = RunningPart(
    "insurance",
    "insurance",
    "Insurance",
    "insurance",
    When.PREMIUMS,
    costs.INSURANCE,
    MoneyGroup.INSURANCE,
    "Insurance",
    hint="With cover for driving tuition.",
    varied="insurance a year",
    included_words="Insurance for tuition",
    median_step=_TO_50_POUNDS,
    given_back_key="insurance_given_back",
)
VEHICLE_TAX = RunningPart(
    "vehicle_tax",
    "vehicle_tax_per_year",
    "Vehicle tax",
    "vehicle tax",
    When.YEAR_STARTS,
    costs.VEHICLE_TAX,
    MoneyGroup.TAX_AND_TEST,
    "Vehicle tax a year",
    example="195",
    median_step=_TO_50_POUNDS,
)
BREAKDOWN = RunningPart(
    "breakdown",
    "breakdown_per_year",
    "Breakdown cover",
    "breakdown cover",
    When.YEAR_STARTS,
    costs.BREAKDOWN_COVER,
    MoneyGroup.TAX_AND_TEST,
    "Breakdown cover a year",
    example="60",
    median_step=_TO_50_POUNDS,
)
MOT = RunningPart(
    "mot",
    "mot",
    "MOT",
    "the MOT",
    When.YEAR_ENDS_WITH_MOT,
    costs.MOT,
    MoneyGroup.TAX_AND_TEST,
    "One MOT",
    example="54.85",
    hint="We count it once the car is old enough to need one.",
    median_step=_TO_50_POUNDS,
)
SERVICING = RunningPart(
    "servicing",
    "servicing_per_year",
    "Servicing",
    "servicing",
    When.MONTHLY,
    costs.SERVICING,
    MoneyGroup.UPKEEP,
    "Servicing a year",
    varied="servicing a year",
    median_step=_TO_50_POUNDS,
)
REPAIRS = RunningPart(
    "repairs",
    "repairs_per_year",
    "Repairs",
    "repairs",
    When.MONTHLY,
    costs.REPAIRS,
    MoneyGroup.UPKEEP,
    "Repairs a year",
    example="400",
    varied="repairs a year",
    is_plural=True,
    median_step=_TO_50_POUNDS,
)
TYRES = RunningPart(
    "tyres",
    "tyre_set",
    "Tyres",
    "tyres",
    When.BY_SET,
    costs.TYRES,
    MoneyGroup.UPKEEP,
    "A set of tyres",
    example="320",
    varied="a set of tyres",
    is_plural=True,
    life_key="tyre_set_miles",
)
FIT_OUT = RunningPart(
    "fit_out",
    "fit_out",
    "Fit-out for tuition",
    "the fit-out for tuition",
    When.AT_START,
    costs.FIT_OUT,
    MoneyGroup.FIT_OUT,
    "Fit-out",
    example="440",
    hint="Dual controls, plates and a second mirror, paid once at the start.",
    included_words=costs.FIT_OUT.words,
)
FUEL = RunningPart(
    "fuel",
    "fuel_pence_per_mile",
    "Fuel",
    "fuel",
    When.BY_MILE,
    costs.FUEL,
    MoneyGroup.FUEL,
    "Fuel or charge, in pence a mile",
    example="13.5",
    varied="fuel a mile",
    included_words="Fuel or charge",
    median_step=Fraction(1, 2),
)

#: By name, in the order in which an offer lists what it includes.
RUNNING_PARTS: dict[str, RunningPart] = {
    part.name: part for part in (INSURANCE, VEHICLE_TAX, BREAKDOWN, MOT, SERVICING, REPAIRS, TYRES, FIT_OUT, FUEL)
}


def are_many(names: Sequence[str]) -> bool:
    """Whether the verb after these parts is a plural one; a name that is no running cost is singular."""
    return len(names) > 1 or (names[0] in RUNNING_PARTS and RUNNING_PARTS[names[0]].is_plural)


_PAID_FIRST = list(When)
#: In the order of a cash flow: first what is paid at the start, last what is paid by the mile.
AS_PAID = tuple(sorted(RUNNING_PARTS.values(), key=lambda part: _PAID_FIRST.index(part.when)))
#: In the order of an offers document, which begins with fuel.
AS_ASKED = (FUEL, *(part for part in RUNNING_PARTS.values() if part is not FUEL))
