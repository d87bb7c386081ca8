"""What each file of the archive holds, as data: the first ten here, of cars' condition in ``condition``."""

from decimal import Decimal

from costing import models as costing
from costing.archive.cells import (
    DAY,
    EMAIL,
    FLAG,
    HOURS,
    LARGEST_SMALL,
    MARK,
    MONTH,
    choice,
    decimal,
    integer,
    money,
    one_number_of,
    text,
)
from costing.archive.condition import (
    CHECKS,
    COMPLETIONS,
    CONFIRMATIONS,
    DEFECT_STEPS,
    DEFECTS,
    POINTS,
    TREADS,
    TYRE_MOVES,
)  # fmt: skip
from costing.archive.rules import AGREEMENT_RULES, CLOSED_FIGURES, CLOSING_RULES, COST_RULES, DUE_RULES, in_order
from costing.archive.table import Column, Table, email_of_member, mark_of_car
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.costs import ENTRY_CATEGORIES
from costing.core.group import RUNNING_STEPS
from fleet import models as fleet
from fleet.core.kinds import DUE_KINDS
from instructors import models as instructors

_NOUGHT = Decimal(0)
_MILES = integer()
_SUM = money(digits=9, least=_NOUGHT)
_COUNT = integer(most=LARGEST_SMALL)


_REF = Column("ref", text(64), required=True)

COOPERATIVE = Table(
    "cooperative.csv",
    instructors.Cooperative,
    key=(),
    is_settings=True,
    columns=(
        Column("name", text(150)),
        Column("nation", choice(instructors.Nation.values)),
        Column("minimum_contributors", integer(least=instructors.LEAST_CONTRIBUTORS, most=LARGEST_SMALL)),
        Column(
            "depreciation_rate",
            decimal(digits=5, places=4, least=_NOUGHT, below=Decimal(1), unit_hint="; write 15 % a year as 0.15"),
        ),
        Column("reminder_hour", integer(least=instructors.EARLIEST_REMINDER_HOUR, most=23)),
        Column("closing_day", integer(least=instructors.EARLIEST_CLOSING_DAY, most=instructors.LATEST_CLOSING_DAY)),
        Column("rounding", one_number_of(instructors.ROUNDINGS)),
    ),
)
MEMBERS = Table(
    "members.csv",
    instructors.Member,
    key=("email",),
    owners=("pk",),
    rules=(in_order("joined_on", "left_on"),),
    columns=(
        Column("email", EMAIL, required=True),
        Column("name", text(150), required=True),
        Column("role", choice(instructors.Role.values), required=True),
        Column("grade", choice(instructors.Grade.values), default=instructors.Grade.ADI.value),
        Column("joined_on", DAY),
        Column("left_on", DAY),
    ),
)
CARS = Table(
    "cars.csv",
    fleet.Car,
    key=("registration",),
    owners=("keeper",),
    rules=(in_order("in_service_from", "in_service_to"),),
    columns=(
        Column("registration", MARK, required=True),
        Column("description", text(120)),
        Column("keeper_email", EMAIL, "keeper__email", required=True),
        Column("fuel", choice(fleet.FuelKind.values), required=True),
        Column("transmission", choice(fleet.Transmission.values), default=fleet.Transmission.MANUAL.value),
        Column("soft_top", FLAG, default=False),
        Column("dual_controls", FLAG, default=True),
        Column("first_registered", DAY),
        Column("co2_g_km", integer(most=LARGEST_SMALL)),
        Column("in_service_from", DAY, required=True),
        Column("in_service_to", DAY),
    ),
)
ODOMETER = Table(
    "odometer.csv",
    fleet.OdometerReading,
    key=("registration", "read_on"),
    owners=("car__keeper",),
    columns=(
        mark_of_car(),
        Column("read_on", DAY, required=True),
        Column("miles", _MILES, required=True),
    ),
)
COSTS = Table(
    "costs.csv",
    costing.CostEntry,
    key=("ref",),
    owners=("member",),
    rules=COST_RULES,
    dropped_at="voided_at",
    columns=(
        _REF,
        mark_of_car(),
        email_of_member(),
        Column("paid_on", DAY, required=True),
        Column("category", choice([category.name for category in ENTRY_CATEGORIES]), required=True),
        Column("amount", money(digits=9), required=True),
        Column("covers_from", DAY),
        Column("covers_to", DAY),
        Column("covers_miles", integer(least=1)),
        Column("ended_on", DAY),
        Column("supplier", text(120)),
        Column("note", text(500)),
    ),
)
FILLS = Table(
    "fills.csv",
    costing.Fill,
    key=("ref",),
    owners=("member",),
    dropped_at="voided_at",
    columns=(
        _REF,
        mark_of_car(),
        email_of_member(),
        Column("filled_on", DAY, required=True),
        Column("odometer", _MILES, required=True),
        Column("quantity", decimal(digits=7, places=3, above=_NOUGHT), required=True),
        Column("unit", choice(costing.FillUnit.values), required=True),
        Column("amount", money(digits=7, least=_NOUGHT), required=True),
        Column("brimmed", FLAG, default=True),
        Column("gap_before", FLAG, default=False),
    ),
)
TEACHING = Table(
    "teaching.csv",
    costing.TeachingRecord,
    key=("ref",),
    owners=("member",),
    rules=(in_order("from_on", "to_on"),),
    dropped_at="voided_at",
    columns=(
        _REF,
        mark_of_car(),
        email_of_member(),
        Column("from_on", DAY, required=True),
        Column("to_on", DAY, required=True),
        Column("lessons", integer(most=LARGEST_SMALL), "lesson_count", required=True),
        Column("hours", HOURS, "minutes", required=True),
        Column("private_miles", _MILES, default=0),
    ),
)
DUES = Table(
    "dues.csv",
    fleet.DueItem,
    key=("registration", "member_email", "kind"),
    owners=("car__keeper", "member"),
    rules=DUE_RULES,
    dropped_at="closed_on",
    reborn_unless_same=("registration", "member_email", "kind", "due_on", "due_miles"),
    columns=(
        mark_of_car(required=False),
        email_of_member(required=False),
        Column("kind", choice(DUE_KINDS), required=True),
        Column("due_on", DAY),
        Column("due_miles", _MILES),
        Column("every_months", integer(least=1, most=LARGEST_SMALL)),
        Column("every_miles", integer(least=1)),
        Column("booked_for", DAY),
        Column("note", text(500)),
    ),
)
AGREEMENTS = Table(
    "agreements.csv",
    costing.Agreement,
    key=("registration", "starts_on"),
    owners=("member",),
    rules=AGREEMENT_RULES,
    columns=(
        mark_of_car(),
        Column("starts_on", DAY, required=True),
        Column("kind", choice(AGREEMENT_KINDS), required=True),
        Column("price", _SUM),
        Column("deposit", _SUM),
        Column("payment", _SUM),
        Column("payments", integer(least=1, most=LARGEST_SMALL)),
        Column("frequency", choice(costing.PaymentFrequency.values)),
        Column("final_payment", _SUM),
        Column("fees", _SUM),
        Column("quoted_apr", decimal(digits=5, places=2, least=_NOUGHT)),
        Column("mileage_allowance", _MILES),
        Column("excess_pence_per_mile", decimal(digits=6, places=2, least=_NOUGHT)),
    ),
)
VALUATIONS = Table(
    "valuations.csv",
    costing.Valuation,
    key=("registration", "valued_on"),
    owners=("member",),
    columns=(
        mark_of_car(),
        Column("valued_on", DAY, required=True),
        Column("value", _SUM, required=True),
    ),
)
CLOSINGS = Table(
    "closings.csv",
    costing.GroupFigure,
    key=("month", "span"),
    rules=CLOSING_RULES,
    is_of_group=True,
    is_later=True,
    columns=(
        Column("month", MONTH, required=True),
        Column("span", choice(costing.Span.values), required=True),
        Column("contributors", _COUNT, "contributor_count", required=True),
        Column("out", _COUNT, "out_count", required=True),
        Column("minimum", integer(least=instructors.LEAST_CONTRIBUTORS, most=LARGEST_SMALL), required=True),
        Column("rounded_to", one_number_of(instructors.ROUNDINGS), required=True),
        *(Column(name, money(digits=9)) for name in (*CLOSED_FIGURES, *RUNNING_STEPS)),
    ),
)

#: In the order in which they are loaded: what a row refers to comes before it.
TABLES = (
    COOPERATIVE, MEMBERS, CARS, ODOMETER, COSTS, FILLS, TEACHING, DUES, AGREEMENTS, VALUATIONS, CLOSINGS,
    POINTS, CHECKS, DEFECTS, DEFECT_STEPS, TREADS, TYRE_MOVES, COMPLETIONS, CONFIRMATIONS,
)  # fmt: skip
TABLE_OF = {table.file: table for table in TABLES}
