"""The instructors of the demonstration and their cars."""

from dataclasses import dataclass, field

from costing.core.catalogue.agreements import (
    AGREEMENT_KINDS,
    CONTRACT_HIRE,
    HIRE_PURCHASE,
    OWNED,
    PCP,
    WEEKLY_RENTAL,
    AgreementKind,
)
from costing.core.catalogue.costs import BREAKDOWN_COVER

COOPERATIVE = "Hollin Vale Instructors' Co-operative"
DOMAIN = "hollinvale.example"
COORDINATOR = f"maren@{DOMAIN}"
MEMBER = f"zofia@{DOMAIN}"


@dataclass(frozen=True)
class Instructor:
    """One member and their car; sums are in pounds, distances in miles.

    ``age_in_months`` is the car's age on the first day of the records. ``weekly_miles`` and ``weekly_lessons`` are of a
    usual week, ``price_per_unit`` is for a litre or kWh. ``due_in`` moves a due item to so many days from today.
    ``gaps`` leaves out what a busy member forgets to log. ``leaves_in`` is the number of days to a last day, and
    ``taken_over_from`` the address of whoever kept the car before its records begin. Lately the car goes a share
    ``less_far``, and the last cover of a kind began so many days ``late``: both look odd.
    """

    name: str
    email: str
    registration: str
    car: str
    fuel: str
    age_in_months: int
    odometer: int
    weekly_miles: int
    weekly_lessons: int
    miles_per_unit: float
    price_per_unit: float
    tank: float
    insurance: int
    agreement: dict[str, object]
    values: tuple[int, ...] = ()
    role: str = "member"
    grade: str = "ADI"
    transmission: str = "manual"
    months: int = 18
    due_in: dict[str, int] = field(default_factory=dict)
    gaps: bool = False
    leaves_in: int | None = None
    taken_over_from: str = ""
    less_far: float = 0.0
    late: dict[str, int] = field(default_factory=dict)

    @property
    def way(self) -> AgreementKind:
        """How the car is held; without an agreement it is the instructor's own."""
        return AGREEMENT_KINDS[str(self.agreement.get("kind", OWNED.name))]

    @property
    def unit(self) -> str:
        return "kwh" if self.fuel == "electric" else "litre"


def _owned(price: int) -> dict[str, object]:
    return {"kind": OWNED.name, "price": price}


CAST = (
    Instructor(
        "Maren Oakes",
        COORDINATOR,
        "QA69HVA",
        "Blue hatchback",
        "petrol",
        40,
        38_410,
        420,
        27,
        9.6,
        1.38,
        38,
        870,
        _owned(11_200),
        (9_400,),
        role="coordinator",
        due_in={"mot": 24, "service": 60},
        less_far=0.16,
    ),
    Instructor(
        "Tomos Ellery",
        f"tomos@{DOMAIN}",
        "QA18HVB",
        "Grey hatchback",
        "diesel",
        62,
        71_950,
        480,
        29,
        11.6,
        1.45,
        42,
        820,
        {
            "kind": HIRE_PURCHASE.name,
            "price": 9_800,
            "deposit": 1_500,
            "payment": "211.40",
            "payments": 48,
            "frequency": "month",
            "fees": 10,
            "quoted_apr": "10.9",
        },
        (7_600,),
        due_in={"vehicle_tax": 6, "adi_registration": 80},
    ),
    Instructor(
        "Zofia Wrzos",
        MEMBER,
        "QA22HVC",
        "White electric hatchback",
        "electric",
        14,
        12_300,
        390,
        26,
        3.7,
        0.31,
        44,
        1_040,
        _owned(18_900),
        (15_700, 13_900),
        transmission="automatic",
        due_in={"insurance": 12},
        late={BREAKDOWN_COVER.name: 9},
    ),
    Instructor(
        "Ngozi Adeleye",
        f"ngozi@{DOMAIN}",
        "QA23HVD",
        "Red hatchback",
        "petrol",
        8,
        7_150,
        450,
        30,
        9.9,
        1.38,
        40,
        910,
        {
            "kind": PCP.name,
            "price": 17_600,
            "deposit": 2_500,
            "payment": "254.20",
            "payments": 42,
            "frequency": "month",
            "final_payment": 7_900,
            "fees": 150,
            "quoted_apr": "9.4",
            "mileage_allowance": 12_000,
            "excess_pence_per_mile": "9.0",
        },
        (14_300,),
        due_in={"service": 17},
    ),
    Instructor(
        "Ravi Senanayake",
        f"ravi@{DOMAIN}",
        "QA73HVE",
        "Silver hatchback",
        "petrol",
        3,
        2_400,
        430,
        28,
        10.1,
        1.38,
        41,
        0,
        {"kind": WEEKLY_RENTAL.name, "payment": "163.00", "payments": 78, "frequency": "week"},
    ),
    Instructor(
        "Iolanthe Byrd",
        f"iolanthe@{DOMAIN}",
        "QA12HVF",
        "Green hatchback",
        "petrol",
        130,
        118_600,
        310,
        21,
        8.7,
        1.38,
        36,
        760,
        _owned(3_100),
        (2_450,),
        due_in={"mot": -4},
    ),
    Instructor(
        "Łukasz Bielak",
        f"lukasz@{DOMAIN}",
        "QA24HVG",
        "Black hybrid",
        "hybrid",
        2,
        1_120,
        440,
        29,
        12.4,
        1.38,
        36,
        980,
        {
            "kind": CONTRACT_HIRE.name,
            "deposit": 1_620,
            "payment": "270.00",
            "payments": 36,
            "frequency": "month",
            "mileage_allowance": 20_000,
            "excess_pence_per_mile": "8.5",
        },
        transmission="automatic",
    ),
    Instructor(
        "Δάφνη Καρρά",
        f"dafni@{DOMAIN}",
        "QA17HVH",
        "Yellow hatchback",
        "diesel",
        85,
        64_300,
        360,
        22,
        11.2,
        1.45,
        40,
        1_180,
        {
            "kind": HIRE_PURCHASE.name,
            "price": 6_400,
            "deposit": 900,
            "payment": "38.50",
            "payments": 182,
            "frequency": "week",
            "quoted_apr": "13.9",
        },
        (5_600,),
        grade="PDI",
        months=8,
        due_in={"pdi_licence": 28},
    ),
    Instructor(
        "Hamish Rook",
        f"hamish@{DOMAIN}",
        "QA15HVI",
        "White hatchback",
        "diesel",
        108,
        96_700,
        400,
        25,
        11.0,
        1.45,
        42,
        840,
        {},
        gaps=True,
        leaves_in=12,
        taken_over_from=COORDINATOR,
    ),
)
