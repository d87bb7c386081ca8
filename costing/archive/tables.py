"""What each file of the archive holds, as data. ``condition`` has the files about the condition of cars."""

from config import quantities
from costing import models as costing
from costing.archive.cells import (
    COUNT,
    DAY,
    EMAIL,
    FLAG,
    HOURS,
    MARK,
    MILES,
    MONTH,
    PAID,
    POUNDS,
    SOME_MILES,
    choice,
    of,
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
from costing.archive.found_right import FOUND_RIGHT
from costing.archive.receipts import RECEIPTS
from costing.archive.repeats import REPEATS
from costing.archive.rules import AGREEMENT_RULES, CLOSING_RULES, COST_RULES, DUE_RULES, in_order
from costing.archive.settled import SETTLED
from costing.archive.table import Column, Table, email_of_member, mark_of_car
from costing.archive.takings import TAKINGS
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.costs import ENTRY_CATEGORIES
from costing.core.group import CLOSED_FIGURES, RUNNING_STEPS
from fleet import models as fleet
from fleet.core.due_kinds import DUE_KINDS
from instructors import models as instructors

_REF = Column("ref", text(64), required=True)

COOPERATIVE = Table(
    "cooperative.csv",
    instructors.Cooperative,
    key=(),
    is_settings=True,
    columns=(
        Column("name", text(150)),
        Column("nation", choice(instructors.Nation.values)),
        Column("minimum_contributors", of(instructors.CONTRIBUTORS)),
        Column("depreciation_rate", of(quantities.YEARLY_LOSS)),
        Column("reminder_hour", of(instructors.REMINDER_HOUR)),
        Column("closing_day", of(instructors.CLOSING_DAY)),
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
    is_of_keepers=True,
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
        Column("co2_g_km", of(quantities.CO2)),
        Column("in_service_from", DAY, required=True),
        Column("in_service_to", DAY),
        Column("registered_keeper", EMAIL, "registered_keeper__email", names_another=True),
    ),
)
KEEPERS = Table(
    "keepers.csv",
    fleet.KeeperTime,
    key=("registration", "from_on"),
    owners=("keeper",),
    rules=(in_order("from_on", "to_on"),),
    is_later=True,
    columns=(
        mark_of_car(),
        Column("from_on", DAY, required=True),
        email_of_member("keeper__email"),
        Column("to_on", DAY),
    ),
)
ODOMETER = Table(
    "odometer.csv",
    fleet.OdometerReading,
    key=("registration", "read_on"),
    is_of_keepers=True,
    kept_on="read_on",
    columns=(
        mark_of_car(),
        Column("read_on", DAY, required=True),
        Column("miles", MILES, required=True),
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
        Column("amount", PAID, required=True),
        Column("covers_from", DAY),
        Column("covers_to", DAY),
        Column("covers_miles", SOME_MILES),
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
        Column("odometer", MILES, required=True),
        Column("quantity", of(quantities.FILL), required=True),
        Column("unit", choice(costing.FillUnit.values), required=True),
        Column("amount", of(quantities.FILL_POUNDS), required=True),
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
        Column("lessons", COUNT, "lesson_count"),
        Column("hours", HOURS, "minutes"),
        Column("private_miles", MILES),
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
        Column("due_miles", of(quantities.DUE_MILES)),
        Column("every_months", of(quantities.MONTHS_APART)),
        Column("every_miles", SOME_MILES),
        Column("booked_for", DAY),
        Column("note", text(500)),
    ),
)
AGREEMENTS = Table(
    "agreements.csv",
    costing.Agreement,
    key=("registration", "starts_on"),
    owners=("member",),
    is_of_keepers=True,
    kept_on="starts_on",
    has_early_days=True,
    rules=AGREEMENT_RULES,
    columns=(
        mark_of_car(),
        Column("starts_on", DAY, required=True),
        Column("kind", choice(AGREEMENT_KINDS), required=True),
        Column("price", POUNDS),
        Column("deposit", POUNDS),
        Column("payment", POUNDS),
        Column("payments", of(quantities.PAYMENTS)),
        Column("frequency", choice(costing.PaymentFrequency.values)),
        Column("final_payment", POUNDS),
        Column("fees", POUNDS),
        Column("quoted_apr", of(quantities.APR)),
        Column("mileage_allowance", MILES),
        Column("excess_pence_per_mile", of(quantities.EXCESS_PENCE)),
    ),
)
VALUATIONS = Table(
    "valuations.csv",
    costing.Valuation,
    key=("registration", "valued_on"),
    owners=("member",),
    is_of_keepers=True,
    kept_on="valued_on",
    has_early_days=True,
    columns=(
        mark_of_car(),
        Column("valued_on", DAY, required=True),
        Column("value", POUNDS, required=True),
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
        Column("contributors", COUNT, "contributor_count", required=True),
        Column("out", COUNT, "out_count", required=True),
        Column("minimum", of(instructors.CONTRIBUTORS), required=True),
        Column("rounded_to", one_number_of(instructors.ROUNDINGS), required=True),
        *(Column(name, PAID) for name in (*CLOSED_FIGURES, *RUNNING_STEPS)),
    ),
)

#: In the order of loading: whatever a row refers to comes first.
TABLES = (
    COOPERATIVE, MEMBERS, CARS, KEEPERS, ODOMETER, REPEATS,
    COSTS, SETTLED, FILLS, TEACHING, TAKINGS, DUES, AGREEMENTS, VALUATIONS, CLOSINGS,
    POINTS, CHECKS, DEFECTS, DEFECT_STEPS, TREADS, TYRE_MOVES, COMPLETIONS, CONFIRMATIONS, RECEIPTS,
    FOUND_RIGHT,
)  # fmt: skip
TABLE_OF = {table.file: table for table in TABLES}
