"""The one verdict: off the road, not known, due, or nothing recorded against a car; and that on its teacher."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.defects import OpenDefect, Severity
from fleet.core.due import DueRecord, DueStatus, State, due_status
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.odometer import Odometer
from fleet.core.readiness import NOTHING_WRONG, Condition, OffRoadReason
from fleet.core.tread import Depth
from fleet.core.verdict import CarVerdict, MayTeach, Verdict, teacher_verdict, verdict_of

TODAY = date(2026, 3, 16)
SCRATCH = OpenDefect(1, Severity.WATCH, "Scratch", TODAY)
LAMP = OpenDefect(2, Severity.BEFORE_NEXT_LESSON, "Brake lamp out", TODAY)
BRAKES = OpenDefect(3, Severity.DANGEROUS, "Brakes fade", TODAY)
MIRROR = OpenDefect(4, Severity.BEFORE_NEXT_LESSON, "Mirror loose", TODAY)
BALD = Depth("rear_left", TODAY, Decimal("1.5"), Decimal("2.4"), Decimal("2.2"))


def item(kind: str, days_left: int | None, booked_in: int | None = None) -> DueStatus:
    due_on = None if days_left is None else TODAY + timedelta(days=days_left)
    booked_for = None if booked_in is None else TODAY + timedelta(days=booked_in)
    return due_status(DueRecord(kind, due_on, booked_for=booked_for), TODAY, Odometer(()))


def verdict(
    *items: DueStatus, defects: tuple[OpenDefect, ...] = (), condition: Condition = NOTHING_WRONG
) -> CarVerdict:
    return verdict_of(items, condition._replace(defects=defects))


def test_reasons_come_before_all_else() -> None:
    found = verdict(item("mot", -6), item("insurance", None))
    reason = OffRoadReason("mot", since=date(2026, 3, 10))
    assert (found.verdict, found.reasons, found.items) == (Verdict.OFF_THE_ROAD, (reason,), ())


def test_reasons_are_told_worst_first() -> None:
    items = [item(kind, -6) for kind in ("vehicle_tax", "service", "insurance", "mot")]
    condition = Condition((LAMP, SCRATCH, BRAKES), (BALD,), TODAY)
    assert [reason.name for reason in verdict_of(items, condition).reasons] == [
        *("dangerous", "tread", "mot", "insurance", "vehicle_tax", "cover", "before_next_lesson")
    ]


def test_what_is_not_known_comes_before_what_is_overdue_and_is_named_in_full_gravest_first() -> None:
    found = verdict(item("service", -40), item("insurance", None), item("mot", None), item("vehicle_tax", 3))
    assert found.verdict is Verdict.NOT_KNOWN
    assert [status.kind for status in found.items] == ["mot", "insurance"]


@pytest.mark.parametrize(
    ("items", "named"),
    [
        ([item("service", -40), item("mot", 3)], "service"),
        ([item("service", 2), item("mot", 3)], "service"),
        ([item("service", 3), item("mot", 3)], "mot"),
        ([item("service", 20, booked_in=2), item("mot", 200)], "service"),
        ([item("mot", 0)], "mot"),
        ([item("mot", 30)], "mot"),
    ],
)
def test_what_falls_due_first_is_named(items: list[DueStatus], named: str) -> None:
    found = verdict(*items, defects=(SCRATCH,))
    assert (found.verdict, [status.kind for status in found.items]) == (Verdict.DUE, [named])


def test_a_defect_to_keep_an_eye_on_is_something_against_it() -> None:
    found = verdict(item("mot", 31), defects=(SCRATCH,))
    assert (found.verdict, found.defects) == (Verdict.DUE, (SCRATCH,))


def test_nothing_is_said_against_it_only_if_all_is_later() -> None:
    items = [item("mot", 31), item("insurance", 300)]
    assert {status.state for status in items} == {State.LATER}
    assert verdict(*items).verdict is Verdict.NOTHING_AGAINST
    assert verdict().verdict is Verdict.NOTHING_AGAINST


def test_cars_come_worst_first() -> None:
    overdue = DueStatus("service", State.OVERDUE, days_left=-4)
    cars = [
        verdict(defects=(BRAKES,)),
        verdict_of([], Condition(unlawful_treads=(BALD,))),
        verdict(item("mot", -9)),
        verdict(item("mot", -1)),  # of the same reason, the one that is known longer comes first
        verdict(item("insurance", -40)),
        verdict(item("vehicle_tax", -90)),
        verdict_of([], Condition(no_tuition_cover_on=TODAY)),
        verdict(defects=(LAMP,)),
        verdict(item("mot", None), item("insurance", None)),
        verdict(item("insurance", None), overdue),
        verdict(overdue, item("mot", 3)),
        verdict(item("mot", 3)),
        verdict(item("service", 5, booked_in=3)),
        verdict(defects=(SCRATCH,)),
        verdict(item("mot", 300)),
    ]
    ranks = [car.rank for car in cars]
    assert ranks == sorted(ranks)
    assert len({*ranks}) == len(ranks)
    # With two reasons the graver counts: a dangerous car never stands below one with a lamp out.
    assert verdict(item("vehicle_tax", -900), defects=(LAMP, BRAKES)).rank == ranks[0]


ITEMS = st.builds(
    item,
    st.sampled_from([name for name, kind in DUE_KINDS.items() if kind.belongs_to("car")]),
    st.none() | st.integers(-60, 400),
    st.none() | st.integers(-5, 60),
)
DEFECTS = st.sampled_from([SCRATCH, LAMP, BRAKES])


@given(
    st.lists(ITEMS, max_size=6, unique_by=lambda status: status.kind),
    st.lists(DEFECTS, max_size=3, unique=True),
    DEFECTS | ITEMS | st.just(BALD) | st.just(TODAY),
)
def test_nothing_that_is_added_makes_a_verdict_better(
    items: list[DueStatus], defects: list[OpenDefect], more: OpenDefect | DueStatus | Depth | date
) -> None:
    condition = Condition(tuple(defects))
    before = verdict_of(items, condition)
    if isinstance(more, OpenDefect):
        after = verdict_of(items, condition._replace(defects=(*defects, more)))
    elif isinstance(more, Depth):
        after = verdict_of(items, condition._replace(unlawful_treads=(more,)))
    elif isinstance(more, DueStatus):
        after = verdict_of([*items, more], condition)
    else:
        after = verdict_of(items, condition._replace(no_tuition_cover_on=more))
    assert after.rank <= before.rank
    assert {*before.reasons} <= {*after.reasons}


@given(st.lists(ITEMS, max_size=6, unique_by=lambda status: status.kind), st.sampled_from(list(DUE_KINDS)))
def test_what_gets_worse_with_time_never_makes_a_verdict_better(items: list[DueStatus], kind: str) -> None:
    order = list(Verdict)
    others = [status for status in items if status.kind != kind]
    verdicts = [verdict(*others, item(kind, days_left)).verdict for days_left in range(40, -3, -1)]
    places = [order.index(one) for one in verdicts]
    assert places == sorted(places, reverse=True)


# --- The teacher --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("credentials", "expected", "licence"),
    [
        ([], MayTeach.NOT_KNOWN, None),
        ([item("driving_licence", 400)], MayTeach.NOT_KNOWN, None),
        ([item("adi_registration", None)], MayTeach.NOT_KNOWN, None),
        ([item("adi_registration", 400)], MayTeach.NOTHING_AGAINST, "adi_registration"),
        ([item("adi_registration", 120)], MayTeach.DUE, "adi_registration"),
        ([item("adi_registration", 0)], MayTeach.DUE, "adi_registration"),
        ([item("adi_registration", -1)], MayTeach.NO_PAID_LESSONS, "adi_registration"),
        # One is enough, and the one that runs longest counts.
        ([item("pdi_licence", -1), item("adi_registration", 400)], MayTeach.NOTHING_AGAINST, "adi_registration"),
        ([item("pdi_licence", -1), item("adi_registration", -9)], MayTeach.NO_PAID_LESSONS, "pdi_licence"),
    ],
)
def test_without_registration_or_licence_in_date_there_are_no_paid_lessons(
    credentials: list[DueStatus], expected: MayTeach, licence: str | None
) -> None:
    found = teacher_verdict(credentials)
    assert (found.verdict, found.licence.kind if found.licence else None) == (expected, licence)
