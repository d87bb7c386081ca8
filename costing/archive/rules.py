"""The rules that one row must keep by itself, which are those of the database.

A rule names the columns that it reads. It is skipped for a row in which one of them could not be read.
"""

from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from typing import Any, NamedTuple

from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.group import CLOSED_FIGURES, RUNNING_STEPS, Rounding
from costing.core.money import to_pence
from costing.models import Span
from fleet.core.defects import Severity
from fleet.core.due_kinds import DUE_KINDS
from fleet.models import DefectState

Values = Mapping[str, Any]
Complaints = Iterator[tuple[str, str]]


class RowRule(NamedTuple):
    """``check`` yields (column, what is wrong) for a row whose ``columns`` could all be read."""

    columns: tuple[str, ...]
    check: Callable[[Values], Complaints]


def in_order(first: str, last: str) -> RowRule:
    """Return the rule that the day in ``last`` is not before the day in ``first``."""

    def check(row: Values) -> Complaints:
        if row[first] and row[last] and row[last] < row[first]:
            yield last, f"{row[last]} is before {first}, {row[first]}"

    return RowRule((first, last), check)


def _cover_has_both_days(row: Values) -> Complaints:
    for given, missing in (("covers_from", "covers_to"), ("covers_to", "covers_from")):
        if row[given] and not row[missing]:
            yield missing, f"is empty though {given} is given: cover by days needs both"


def _cover_is_of_one_sort(row: Values) -> Complaints:
    if row["covers_miles"] and (row["covers_from"] or row["covers_to"]):
        yield "covers_miles", "is given beside days: an entry has cover by days or by miles, not both"


def _only_cover_ends(row: Values) -> Complaints:
    if row["ended_on"] and not (row["covers_from"] or row["covers_to"] or row["covers_miles"]):
        yield "ended_on", "is given though the entry has no cover that could end"


COST_RULES = (
    RowRule(("covers_from", "covers_to"), _cover_has_both_days),
    in_order("covers_from", "covers_to"),
    RowRule(("covers_from", "covers_to", "covers_miles"), _cover_is_of_one_sort),
    RowRule(("covers_from", "covers_to", "covers_miles", "ended_on"), _only_cover_ends),
)


def _subject_suits_the_kind(row: Values) -> Complaints:
    kind, mark, email = row["kind"], row["registration"], row["member_email"]
    of = DUE_KINDS[kind].of
    if mark and email:
        yield "member_email", "is given beside registration: a due item is of a car or of a member"
    elif not mark and not email and of == "either":
        yield "registration", "is empty, and so is member_email: one of them must be given"
    elif not email and of == "member":
        yield "member_email", f"is empty, but {kind} falls due on a member"
    elif not mark and of == "car":
        yield "registration", f"is empty, but {kind} falls due on a car"


DUE_SUBJECT = RowRule(("registration", "member_email", "kind"), _subject_suits_the_kind)
DUE_RULES = (DUE_SUBJECT,)


def _closed_has_its_day(row: Values) -> Complaints:
    if row["state"] == DefectState.CLOSED and not row["closed_on"]:
        yield "closed_on", "is empty though the defect is closed"
    elif row["state"] != DefectState.CLOSED and row["closed_on"]:
        yield "closed_on", f"is given though the defect is {row['state']}"


def _waits_only_if_dangerous(row: Values) -> Complaints:
    if row["state"] == DefectState.WAITING and row["severity"] != Severity.DANGEROUS:
        yield "state", f"is waiting though the defect is {row['severity']}: only a dangerous one waits"


def _becomes_less(row: Values) -> Complaints:
    if row["becomes"] and row["state"] != DefectState.WAITING:
        yield "becomes", f"is given though the step is {row['state']}: only one that waits has it"
    elif row["becomes"] == Severity.DANGEROUS:
        yield "becomes", "is dangerous: what waits is to be less than that"


_WAITING_RULE = RowRule(("state", "severity"), _waits_only_if_dangerous)
DEFECT_RULES = (
    RowRule(("state", "closed_on"), _closed_has_its_day),
    in_order("found_on", "closed_on"),
    _WAITING_RULE,
)
STEP_RULES = (_WAITING_RULE, RowRule(("state", "becomes"), _becomes_less))


def _from_another_wheel(row: Values) -> Complaints:
    if row["came_from"] == row["wheel"]:
        yield "came_from", "is the wheel it came to; a new tyre has it empty"


TYRE_MOVE_RULES = (RowRule(("wheel", "came_from"), _from_another_wheel),)


def _term_is_there(column: str) -> RowRule:
    def check(row: Values) -> Complaints:
        if row[column] is None and column in AGREEMENT_KINDS[row["kind"]].needed_when_recorded:
            yield column, _needed_by(row)

    return RowRule(("kind", column), check)


def _frequency_is_there(row: Values) -> Complaints:
    """Require a frequency unless each payment is zero, for which the book stores none."""
    needed = AGREEMENT_KINDS[row["kind"]].needed_when_recorded
    if row["frequency"] is None and row["payment"] != 0 and "frequency" in needed:
        yield "frequency", _needed_by(row)


def _needed_by(row: Values) -> str:
    return f"is empty, but {row['kind']} cannot be worked out without it"


def _of_enough_contributors(column: str) -> RowRule:
    def check(row: Values) -> Complaints:
        if row[column] is not None and row["contributors"] < row["minimum"]:
            yield column, f"is given, but {row['contributors']} contributors are fewer than {row['minimum']}"

    return RowRule((column, "contributors", "minimum"), check)


def _rounded(column: str) -> RowRule:
    def check(row: Values) -> Complaints:
        rounding = Rounding(row["rounded_to"])
        step = rounding.mile if column == "median_cost_per_mile" else rounding.lesson_hour
        if row[column] is not None and to_pence(row[column]) % step:
            yield column, f"is {row[column]}, which is not rounded to {step}p: exact figures are not taken in"

    return RowRule((column, "rounded_to"), check)


def _rounded_running_cost(column: str) -> RowRule:
    step = RUNNING_STEPS[column]

    def check(row: Values) -> Complaints:
        if row[column] is not None and (Fraction(row[column]) / step).denominator != 1:
            yield column, f"is {row[column]}, which is not rounded to {float(step):g}: exact figures are not taken in"

    return RowRule((column,), check)


def _of_a_year(column: str) -> RowRule:
    def check(row: Values) -> Complaints:
        if row[column] is not None and row["span"] != Span.YEAR:
            yield column, "is given for a month: only a year has it"

    return RowRule((column, "span"), check)


CLOSING_RULES = (
    *map(_of_enough_contributors, (*CLOSED_FIGURES, *RUNNING_STEPS)),
    *map(_rounded, CLOSED_FIGURES),
    *map(_rounded_running_cost, RUNNING_STEPS),
    *map(_of_a_year, RUNNING_STEPS),
)

AGREEMENT_RULES = (
    *map(_term_is_there, ("price", "payment", "payments")),
    RowRule(("kind", "payment", "frequency"), _frequency_is_there),
)
