"""The later files: walkaround checks, defects, tyres, completions of due items, and confirmed points."""

from django.db.models import Case, Exists, F, OuterRef, Q, Value, When, Window
from django.db.models.functions import RowNumber

from config import quantities
from costing.archive.cells import DAY, EMAIL, FLAG, MILES, NAME, NAMES, NUMBER, choice, of, text
from costing.archive.rules import DEFECT_RULES, DUE_SUBJECT, STEP_RULES, TYRE_MOVE_RULES
from costing.archive.table import Column, Table, email_of_member, mark_of_car
from fleet import models as fleet
from fleet.core.defects import Severity
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.requirements import ASKED
from instructors import models as instructors

#: The references by which one file names the rows of another; ``references`` recognises them by these kinds.
CHECK_REF, DEFECT_REF = text(64), text(64)
_COST_REF = text(64)
_TREAD = of(quantities.TREAD)
_STATE = choice(fleet.DefectState.values)
_SEVERITY = choice([severity.value for severity in Severity])
_WHEEL = choice(fleet.Wheel.values)


def _doer(name: str, path: str) -> Column:
    return Column(name, EMAIL, f"{path}__email", is_doer=True)


POINTS = Table(
    "points.csv",
    fleet.CheckPoint,
    key=("name",),
    is_later=True,
    columns=(
        Column("name", NAME, required=True),
        Column("group", choice(fleet.CheckGroup.values), required=True),
        Column("words", text(80), required=True),
        Column("look_for", text(200)),
        Column("retired_on", DAY),
    ),
)
CHECKS = Table(
    "checks.csv",
    fleet.WalkaroundCheck,
    key=("ref",),
    owners=("car__keeper",),
    dropped_at="voided_at",
    is_later=True,
    columns=(
        Column("ref", CHECK_REF, required=True),
        mark_of_car(),
        _doer("member_email", "member"),
        Column("checked_on", DAY, required=True),
        Column("points", NAMES, default=()),
        Column("note", text(500)),
        Column("seconds", of(quantities.COUNT)),
        # In older archives no check could be broken off.
        Column("whole", FLAG, "is_whole", default=True),
    ),
)
DEFECTS = Table(
    "defects.csv",
    fleet.Defect,
    key=("ref",),
    owners=("car__keeper",),
    rules=DEFECT_RULES,
    is_later=True,
    columns=(
        Column("ref", DEFECT_REF, required=True),
        mark_of_car(),
        _doer("reported_by_email", "reported_by"),
        Column("found_on", DAY, required=True),
        Column("found_by", choice(fleet.FoundBy.values), default=fleet.FoundBy.OTHER.value),
        Column("severity", _SEVERITY, required=True),
        Column("words", text(500), "description", required=True),
        Column("point", NAME),
        Column("check_ref", CHECK_REF, "walkaround__ref"),
        Column("state", _STATE, default=fleet.DefectState.OPEN.value),
        Column("closed_on", DAY),
    ),
)
DEFECT_STEPS = Table(
    "defect_steps.csv",
    fleet.DefectStep,
    key=("ref", "number"),
    owners=("defect__car__keeper",),
    rules=STEP_RULES,
    computed={"number": Window(RowNumber(), partition_by=[F("defect_id")], order_by="id")},
    is_later=True,
    columns=(
        Column("ref", DEFECT_REF, "defect__ref", required=True),
        Column("number", NUMBER, required=True),
        Column("happened_on", DAY, required=True),
        Column("state", _STATE, required=True),
        Column("severity", _SEVERITY, required=True),
        Column("words", text(500)),
        Column("done_by", text(120)),
        Column("becomes", _SEVERITY),
        Column("evidence", choice(fleet.Evidence.values)),
        # The cost is not looked up: a voided one is in no archive, and one member's archive lacks the others'.
        Column("cost_ref", _COST_REF, names_cost=True),
        _doer("by_email", "by"),
    ),
)
TREADS = Table(
    "treads.csv",
    fleet.TreadReading,
    key=("registration", "wheel", "read_on"),
    owners=("car__keeper",),
    is_later=True,
    columns=(
        mark_of_car(),
        Column("wheel", _WHEEL, required=True),
        Column("read_on", DAY, required=True),
        *(Column(band, _TREAD, required=True) for band in ("inner", "centre", "outer")),
    ),
)
TYRE_MOVES = Table(
    "tyre_moves.csv",
    fleet.TyreMove,
    key=("registration", "wheel", "moved_on"),
    owners=("car__keeper",),
    rules=TYRE_MOVE_RULES,
    is_later=True,
    columns=(
        mark_of_car(),
        Column("wheel", _WHEEL, required=True),
        Column("moved_on", DAY, required=True),
        Column("came_from", _WHEEL),
    ),
)
#: A later completion of the same item, which means that this one did not end it.
_LATER_COMPLETION = fleet.Completion.objects.filter(
    due_item=OuterRef("due_item"), done_on__gt=OuterRef("done_on"), voided_at__isnull=True
)
COMPLETIONS = Table(
    "completions.csv",
    fleet.Completion,
    key=("registration", "member_email", "kind", "done_on", "number"),
    owners=("due_item__car__keeper", "due_item__member"),
    rules=(DUE_SUBJECT,),
    dropped_at="voided_at",
    reborn_unless_same=("registration", "member_email", "kind", "done_on", "was_due_on", "was_due_miles", "odometer"),
    computed={
        # A kind may be completed twice on one day: done for good, then added and completed again.
        "number": Window(
            RowNumber(),
            partition_by=[F("due_item__car_id"), F("due_item__member_id"), F("due_item__kind"), F("done_on")],
            order_by=[F("due_item__closed_on").asc(nulls_last=True), F("due_item_id").asc()],
        ),
        "for_good": Case(
            When(Q(due_item__closed_on__isnull=False) & ~Exists(_LATER_COMPLETION), then=Value(True)),
            default=Value(False),
        ),
    },
    is_later=True,
    columns=(
        mark_of_car("due_item__car__registration", required=False),
        email_of_member("due_item__member__email", required=False),
        Column("kind", choice(DUE_KINDS), "due_item__kind", required=True),
        Column("done_on", DAY, required=True),
        Column("was_due_on", DAY),
        Column("was_due_miles", of(quantities.DUE_MILES)),
        Column("next_due_on", DAY),
        Column("next_due_miles", of(quantities.DUE_MILES)),
        Column("odometer", MILES),
        Column("note", text(500)),
        Column("cost_ref", _COST_REF, names_cost=True),
        _doer("recorded_by_email", "recorded_by"),
        Column("number", NUMBER, default=1),
        Column("for_good", FLAG, default=False),
    ),
)
CONFIRMATIONS = Table(
    "confirmations.csv",
    fleet.Confirmation,
    key=("registration", "point", "confirmed_on"),
    owners=("car__keeper",),
    is_later=True,
    columns=(
        mark_of_car(),
        Column("point", choice(ASKED), required=True),
        Column("confirmed_on", DAY, required=True),
        Column("is_met", FLAG, required=True),
        _doer("by_email", "by"),
        Column("grade", choice(instructors.Grade.values)),
    ),
)
