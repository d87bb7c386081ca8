"""Cost categories: what members log costs under, and the components of a car's true cost."""

from enum import StrEnum
from typing import Literal, NamedTuple

_AS_COVERED = "Over the days or miles it covers, if any were entered; else on the day it was paid."
_BY_DAYS = "Each payment over the days it covers."


class CostGroup(StrEnum):
    """What charts draw together, from the axis up. Its value is the name of its tone and pattern, for ever.

    ``words`` name it where there is room, ``short_words`` where there is little.
    """

    words: str
    short_words: str

    VALUE = ("value", "Loss of value", "Value")
    FUEL = ("fuel", "Fuel, charge", "Fuel")
    FINANCE = ("finance", "Finance, hire", "Finance")
    INSURANCE = ("insurance", "Insurance", "Insurance")
    SERVICE = ("service", "Service, repairs", "Service")
    REST = ("rest", "All else", "Else")
    TYRES = ("tyres", "Tyres", "Tyres")
    TAX = ("tax", "Tax, MOT", "Tax, MOT")

    def __new__(cls, name: str, words: str, short_words: str) -> "CostGroup":
        group = str.__new__(cls, name)
        group._value_ = name
        group.words, group.short_words = words, short_words
        return group

    @property
    def spoken(self) -> str:
        """What it is called at the beginning of a sentence: Loss of value, Fuel and charge."""
        return self.words.replace(", ", " and ")

    @property
    def is_of_one(self) -> bool:
        """Whether one category alone is drawn with it."""
        return sum(row.group is self for row in COST_CATEGORIES.values()) == 1


class Driver(StrEnum):
    """What a cost grows with: the days that the car is had, the miles it is driven, or the hours taught in it.

    By days is what runs whether anybody is taught or not: a fixed cost. Common practice, no source.
    """

    DAYS = "days"
    MILES = "miles"
    HOURS = "hours"


class CostCategory(NamedTuple):
    """One category. ``group`` is what it is drawn with in charts; ``source`` says how its true cost is made, and
    ``driver`` what it grows with.

    ``covers`` is what such a cost usually pays for, so that the form asks for it: days, the miles that the co-op sets,
    or nothing to come. Days are proposed from the day paid, or if it ``is_renewed`` from the day after the cover that
    it renews, for ``usual_months``; what ``stays_in_car`` lasts to the end of the car's agreement if that has a term.

    One sum comes to ``usual_pence`` at least and at most, what ``is_renewed`` in a year of cover: common practice, no
    source, but for the MOT, whose fee the law bounds. ``times`` a member's own usual sum, more or less, is usual;
    nought, if sums of any size are.
    """

    name: str
    words: str
    group: CostGroup
    source: str = _AS_COVERED
    covers: Literal["days", "miles", ""] = ""
    usual_months: int = 12
    is_renewed: bool = False
    stays_in_car: bool = False
    asks_tuition: bool = False  # whether the form asks if lessons are insured
    is_entry: bool = True  # members log costs under it; otherwise it is worked out from other records
    is_instalment: bool = False  # its entries are only money out: the agreement says what they cost
    usual_pence: tuple[int, int] = (0, 0)
    times: int = 9
    comes_often: bool = False  # whether two equal sums a few days apart are ordinary
    component_words: str = ""  # what the component is called, if its entries are called something else
    spoken_words: str = ""  # what a sum is said to be for, within a sentence, if not just for what it is called
    driver: Driver = Driver.DAYS

    @property
    def label(self) -> str:
        """What it is called as a component of the true cost."""
        return self.component_words or self.words

    @property
    def spoken(self) -> str:
        """What a sum is said to be for: Insurance, which begins with a small letter within a sentence, an MOT."""
        return self.spoken_words or self.words


INSURANCE = CostCategory(
    "insurance",
    "Insurance",
    CostGroup.INSURANCE,
    "Each premium over the days it covers.",
    covers="days",
    is_renewed=True,
    asks_tuition=True,
    usual_pence=(20_000, 600_000),
    times=3,
)
VEHICLE_TAX = CostCategory(
    *("vehicle_tax", "Vehicle tax", CostGroup.TAX, _BY_DAYS, "days"),
    is_renewed=True,
    usual_pence=(2_000, 80_000),
    times=4,
)
#: The most that a test of a class 4 car may cost, in pence (GOV.UK, MOT fees; read in a copy).
MOST_FOR_AN_MOT = 5_485
MOT = CostCategory("mot", "MOT", CostGroup.TAX, usual_pence=(1_500, MOST_FOR_AN_MOT), times=3, spoken_words="an MOT")
SERVICING = CostCategory("servicing", "Servicing", CostGroup.SERVICE, usual_pence=(4_000, 150_000), driver=Driver.MILES)
REPAIRS = CostCategory(
    "repairs", "Repairs", CostGroup.SERVICE, usual_pence=(500, 400_000), times=15, driver=Driver.MILES
)
TYRES = CostCategory(
    "tyres",
    "Tyres",
    CostGroup.TYRES,
    "Each set over the miles it is bought to last.",
    covers="miles",
    usual_pence=(1_500, 120_000),
    driver=Driver.MILES,
)
FIT_OUT = CostCategory(
    "fit_out",
    "Fit-out: dual controls, plates, mirror",
    CostGroup.REST,
    "Over the days it lasts: usually to the end of the car's agreement, else three years.",
    covers="days",
    usual_months=36,
    stays_in_car=True,
    usual_pence=(500, 250_000),
    times=0,
    spoken_words="the fit-out",
)
BREAKDOWN_COVER = CostCategory(
    *("breakdown_cover", "Breakdown cover", CostGroup.REST, _BY_DAYS, "days"),
    is_renewed=True,
    usual_pence=(2_000, 45_000),
    times=4,
)
FINANCE = CostCategory(
    *("finance", "Finance instalment", CostGroup.FINANCE),
    is_instalment=True,
    usual_pence=(5_000, 150_000),
    times=2,
    spoken_words="a finance instalment",
)
RENTAL = CostCategory(
    "rental",
    "Rental payment",
    CostGroup.FINANCE,
    "Each rental payment over its own month or week; an initial rental over the whole term.",
    is_instalment=True,
    component_words="Rental",
    usual_pence=(4_000, 400_000),
    times=4,
    spoken_words="a rental payment",
)
CLEANING = CostCategory(
    *("cleaning", "Cleaning", CostGroup.REST),
    usual_pence=(100, 15_000),
    times=8,
    comes_often=True,
    driver=Driver.HOURS,
)
PARKING_TOLLS = CostCategory(
    *("parking_tolls", "Parking and tolls", CostGroup.REST),
    usual_pence=(30, 15_000),
    times=0,
    comes_often=True,
    driver=Driver.HOURS,
)
OTHER = CostCategory(
    *("other", "Other", CostGroup.REST),
    usual_pence=(50, 60_000),
    times=0,
    comes_often=True,
    spoken_words="something else",
)
FUEL = CostCategory(
    *("fuel", "Fuel and charging", CostGroup.FUEL),
    "Each fill pays for the days since the fill before it.",
    is_entry=False,
    driver=Driver.MILES,
)
INTEREST = CostCategory(
    "interest",
    "Finance interest",
    CostGroup.FINANCE,
    "The interest part of each instalment, over the days from one due day to the next.",
    is_entry=False,
)
DEPRECIATION = CostCategory(
    "depreciation",
    "Loss of value",
    CostGroup.VALUE,
    "What the car lost in value, by days: between its price and each valuation, then at the co-op’s rate, an estimate.",
    is_entry=False,
)

#: By name, in the order in which the form offers them.
COST_CATEGORIES: dict[str, CostCategory] = {
    category.name: category
    for category in (
        *(INSURANCE, VEHICLE_TAX, MOT, SERVICING, REPAIRS, TYRES, FIT_OUT, BREAKDOWN_COVER, FINANCE, RENTAL),
        *(CLEANING, PARKING_TOLLS, OTHER, FUEL, INTEREST, DEPRECIATION),
    )
}
#: The categories that members log costs under.
ENTRY_CATEGORIES = tuple(category for category in COST_CATEGORIES.values() if category.is_entry)
#: Their names and words, as choices for a form or a column.
ENTRY_CHOICES = [(category.name, category.words) for category in ENTRY_CATEGORIES]
#: The names of categories whose entries are instalments as paid: money out, never true cost.
INSTALMENT_CATEGORIES = frozenset(category.name for category in ENTRY_CATEGORIES if category.is_instalment)


def drawn_together(group: CostGroup) -> list[CostCategory]:
    """The categories that charts draw as one group."""
    return [category for category in COST_CATEGORIES.values() if category.group is group]


def asked_for(group: CostGroup) -> str:
    """What an address calls a group: "all-service", or the name of its category if members log one alone in it."""
    of_group = drawn_together(group)
    is_one_of_entries = len(of_group) == 1 and (of_group[0].is_entry or of_group[0] is FUEL)
    return of_group[0].name if is_one_of_entries else f"all-{group}"


#: By what an address calls them, the groups that are more than one category of entries.
GROUPS_ASKED_FOR = {name: group for group in CostGroup if (name := asked_for(group)) not in COST_CATEGORIES}


def categories_asked_for(name: str) -> frozenset[str]:
    """The names of the categories that an address means: those of a group, one alone, or every one if it names none."""
    if name in GROUPS_ASKED_FOR:
        return frozenset(category.name for category in drawn_together(GROUPS_ASKED_FOR[name]))
    return frozenset({name} if name else COST_CATEGORIES)
