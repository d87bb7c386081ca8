from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.defects import OpenDefect, Severity
from fleet.core.due import DayUnknown, DueRecord, DueStatus, State, due_status
from fleet.core.findings import Answer, Facts, Finding, Verdict, Why, readiness
from fleet.core.odometer import Odometer
from fleet.core.readiness import Condition
from fleet.core.requirements import ASKED, LISTS, How
from fleet.core.tread import Depth

TODAY = date(2026, 3, 16)
WHEELS = ("front_left", "front_right", "rear_left", "rear_right")


def days_ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def status(kind: str, due_on: date | None) -> DueStatus:
    return due_status(DueRecord(kind, due_on), TODAY, Odometer([]))


def tread(wheel: str, lowest: str = "4.2", read_on: date = date(2026, 3, 2)) -> Depth:
    return Depth(wheel, read_on, Decimal("5.0"), Decimal(lowest), Decimal("5.0"))


#: A car of which every point of both lists is recorded as met.
READY = Facts(
    on=TODAY,
    soft_top=False,
    dual_controls=True,
    statuses={kind: status(kind, TODAY) for kind in ("mot", "vehicle_tax", "insurance", "dual_controls")},
    credentials={"adi_registration": status("adi_registration", TODAY)},
    treads={wheel: tread(wheel) for wheel in WHEELS},
    checked_on=days_ago(7),
    answers={name: Answer(days_ago(7), is_met=True) for name in ASKED},
)


def finding(list_name: str, point: str, facts: Facts) -> Finding:
    [found] = [f for f in readiness(LISTS[list_name], facts).findings if f.point.name == point]
    return found


def stands(list_name: str, point: str, facts: Facts) -> tuple[Verdict, Why, date | None]:
    return finding(list_name, point, facts)[1:4]


@pytest.mark.parametrize("name", LISTS)
def test_a_car_with_every_point_met_is_ready(name: str) -> None:
    found = readiness(LISTS[name], READY)
    assert found.of is LISTS[name]
    assert found.is_ready
    assert found.count(Verdict.MET) == len(LISTS[name].points)


@pytest.mark.parametrize("name", LISTS)
def test_a_car_of_which_nothing_is_recorded_is_not_ready(name: str) -> None:
    found = readiness(LISTS[name], Facts(on=TODAY, soft_top=False, dual_controls=True))
    assert not found.is_ready
    met = {f.point.name for f in found.findings if f.verdict is Verdict.MET}
    # What the car itself says, and the absence of a defect, are all that is known of it.
    assert met <= {"closed_body", "dual_controls_fitted", "no_stopping_defect"}
    assert found.count(Verdict.NOT_MET) == 0


def test_points_are_listed_worst_first() -> None:
    facts = replace(READY, soft_top=True, checked_on=None)
    verdicts = [f.verdict for f in readiness(LISTS["teach"], facts).findings]
    assert verdicts[:3] == [Verdict.NOT_MET, Verdict.UNKNOWN, Verdict.MET]
    assert set(verdicts[3:]) == {Verdict.MET}


# --- What the book records already ------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["mot", "vehicle_tax", "insurance", "dual_controls"])
def test_a_due_item_is_met_on_its_last_good_day_not_after_and_unknown_without_one(kind: str) -> None:
    def with_day(due_on: date | None) -> Facts:
        return replace(READY, statuses={**READY.statuses, kind: status(kind, due_on)})

    assert stands("teach", kind, with_day(TODAY)) == (Verdict.MET, Why.RUNS_UNTIL, TODAY)
    assert stands("teach", kind, with_day(days_ago(1))) == (Verdict.NOT_MET, Why.RAN_OUT, days_ago(1))
    assert stands("teach", kind, with_day(None)) == (Verdict.UNKNOWN, Why.NOTHING_RECORDED, None)
    assert stands("teach", kind, replace(READY, statuses={}))[0] is Verdict.UNKNOWN


def test_an_insurance_that_may_not_hold_for_the_keeper_is_not_known_nor_is_its_cover() -> None:
    doubts = {"insurance": DayUnknown.POLICY_OF_FORMER_KEEPER}
    insured = replace(status("insurance", TODAY), state=State.UNKNOWN, missing=doubts["insurance"])
    facts = replace(READY, statuses={**READY.statuses, "insurance": insured}, condition=Condition(doubts=doubts))
    for point in ("insurance", "tuition_insurance"):
        assert stands("teach", point, facts) == (Verdict.UNKNOWN, Why.IN_DOUBT, None)
    assert stands("test-day", "test_insurance", facts)[0] is Verdict.MET


def test_a_first_mot_that_was_never_taken_is_not_met() -> None:
    never = replace(status("mot", TODAY), state=State.OVERDUE, is_by_rule=True)
    facts = replace(READY, statuses={**READY.statuses, "mot": never})
    assert stands("teach", "mot", facts) == (Verdict.NOT_MET, Why.NEVER_HAD, TODAY)


@pytest.mark.parametrize(
    ("adi", "pdi", "expected"),
    [
        (None, None, (Verdict.UNKNOWN, Why.NOTHING_RECORDED, None)),
        (TODAY, None, (Verdict.MET, Why.RUNS_UNTIL, TODAY)),
        (None, TODAY, (Verdict.MET, Why.RUNS_UNTIL, TODAY)),
        (days_ago(1), None, (Verdict.NOT_MET, Why.RAN_OUT, days_ago(1))),
        (days_ago(9), days_ago(1), (Verdict.NOT_MET, Why.RAN_OUT, days_ago(1))),
        # Registered since: the licence of the time before does not matter any more.
        (TODAY, days_ago(90), (Verdict.MET, Why.RUNS_UNTIL, TODAY)),
    ],
)
def test_registration_or_trainee_licence_either_will_do(
    adi: date | None, pdi: date | None, expected: tuple[Verdict, Why, date | None]
) -> None:
    days = {"adi_registration": adi, "pdi_licence": pdi}
    credentials = {kind: status(kind, day) for kind, day in days.items() if day}
    assert stands("teach", "instructor", replace(READY, credentials=credentials)) == expected


def test_a_defect_that_stops_the_car_is_named_since_when_and_one_to_be_watched_is_not() -> None:
    watched = OpenDefect(1, Severity.WATCH, "Chip in the windscreen", days_ago(30))
    worn = OpenDefect(3, Severity.DANGEROUS, "Brake pads worn through", days_ago(2))
    lamp = OpenDefect(4, Severity.BEFORE_NEXT_LESSON, "Brake lamp out", days_ago(5))
    only_watched = replace(READY, condition=Condition(defects=(watched,)))
    assert stands("test-day", "no_stopping_defect", only_watched) == (Verdict.MET, Why.NO_DEFECT, None)
    stopped = replace(READY, condition=Condition(defects=(watched, worn, lamp)))
    found = finding("test-day", "no_stopping_defect", stopped)
    assert found[1:] == (Verdict.NOT_MET, Why.DEFECT, days_ago(5), "Brake pads worn through; Brake lamp out")


def test_tread_below_the_law_is_not_met_and_names_the_worst_wheel() -> None:
    low, lower = tread("rear_left", "1.5", days_ago(9)), tread("rear_right", "1.2", days_ago(3))
    facts = replace(READY, condition=Condition(unlawful_treads=(low, lower)))
    assert finding("teach", "tread", facts)[1:] == (Verdict.NOT_MET, Why.TREAD_TOO_LOW, days_ago(3), "rear_right")


def test_tread_is_unknown_where_a_wheel_was_never_read_or_too_long_ago() -> None:
    unread = replace(READY, treads={**READY.treads, "rear_left": None})
    assert finding("teach", "tread", unread)[1:] == (Verdict.UNKNOWN, Why.TREAD_NOT_READ, None, "rear_left")
    assert finding("teach", "tread", replace(READY, treads={}))[1:] == (Verdict.UNKNOWN, Why.TREAD_NOT_READ, None, "")

    def read(days: int) -> Facts:
        return replace(READY, treads={**READY.treads, "rear_left": tread("rear_left", read_on=days_ago(days))})

    assert stands("teach", "tread", read(90)) == (Verdict.MET, Why.TREAD_ENOUGH, days_ago(90))
    long_ago = (Verdict.UNKNOWN, Why.TREAD_READ_LONG_AGO, days_ago(91), "rear_left")
    assert finding("teach", "tread", read(91))[1:] == long_ago


def test_a_soft_top_or_a_car_without_dual_controls_is_not_ready_to_teach_in() -> None:
    soft, single = replace(READY, soft_top=True), replace(READY, dual_controls=False)
    for point, without in (("closed_body", soft), ("dual_controls_fitted", single)):
        assert stands("teach", point, without) == (Verdict.NOT_MET, Why.AS_ENTERED, None)
        assert stands("teach", point, READY) == (Verdict.MET, Why.AS_ENTERED, None)


def test_a_walkaround_check_counts_for_seven_days() -> None:
    assert stands("teach", "walkaround", READY) == (Verdict.MET, Why.CHECKED, days_ago(7))
    late = replace(READY, checked_on=days_ago(8))
    assert stands("teach", "walkaround", late) == (Verdict.NOT_MET, Why.CHECKED_LONG_AGO, days_ago(8))
    never = replace(READY, checked_on=None)
    assert stands("teach", "walkaround", never) == (Verdict.UNKNOWN, Why.NOTHING_RECORDED, None)


# --- What only somebody's answer tells --------------------------------------------------------------------


def answered(point: str, days: int, *, is_met: bool) -> Facts:
    return replace(READY, answers={**READY.answers, point: Answer(days_ago(days), is_met)})


@pytest.mark.parametrize(
    ("list_name", "point", "lasts"),
    [("test-day", "warning_lamps", 7), ("test-day", "l_plates", 7), ("teach", "tuition_insurance", 365)],
)
def test_a_yes_counts_as_long_as_its_point_allows(list_name: str, point: str, lasts: int) -> None:
    fresh, old = answered(point, lasts, is_met=True), answered(point, lasts + 1, is_met=True)
    assert stands(list_name, point, fresh) == (Verdict.MET, Why.SAID_YES, days_ago(lasts))
    assert stands(list_name, point, old) == (Verdict.UNKNOWN, Why.SAID_LONG_AGO, days_ago(lasts + 1))


@pytest.mark.parametrize(("list_name", "point"), [("teach", "l_plates"), ("test-day", "four_wheels")])
def test_what_is_fitted_stays_until_somebody_says_otherwise(list_name: str, point: str) -> None:
    assert stands(list_name, point, answered(point, 3_000, is_met=True))[0] is Verdict.MET


@pytest.mark.parametrize("point", ASKED)
def test_what_nobody_has_answered_is_unknown(point: str) -> None:
    unanswered = replace(READY, answers={name: answer for name, answer in READY.answers.items() if name != point})
    found = [f for points in LISTS.values() for f in readiness(points, unanswered).findings if f.point.name == point]
    assert {f[1:4] for f in found} == {(Verdict.UNKNOWN, Why.NOTHING_RECORDED, None)}


@pytest.mark.parametrize("point", ASKED)
def test_a_no_stands_however_old_it_is(point: str) -> None:
    facts = answered(point, 3_000, is_met=False)
    found = [f for points in LISTS.values() for f in readiness(points, facts).findings if f.point.name == point]
    assert found
    assert {f[1:4] for f in found} == {(Verdict.NOT_MET, Why.SAID_NO, days_ago(3_000))}


# --- Whatever is recorded ---------------------------------------------------------------------------------

DAYS = st.dates(date(2024, 1, 1), TODAY)
MAYBE_DAYS = st.none() | st.dates(date(2025, 6, 1), date(2027, 1, 1))


def due(*kinds: str) -> st.SearchStrategy[dict[str, DueStatus]]:
    return st.fixed_dictionaries({}, optional={kind: MAYBE_DAYS.map(lambda d, k=kind: status(k, d)) for kind in kinds})


FACTS = st.builds(
    Facts,
    on=st.just(TODAY),
    soft_top=st.booleans(),
    dual_controls=st.booleans(),
    statuses=due("mot", "vehicle_tax", "insurance", "dual_controls", "service"),
    credentials=due("adi_registration", "pdi_licence"),
    condition=st.builds(
        Condition,
        defects=st.lists(
            st.builds(OpenDefect, st.integers(1, 9), st.sampled_from(Severity), st.just("Lamp out"), DAYS), max_size=3
        ).map(tuple),
        unlawful_treads=st.sampled_from([(), (tread("rear_left", "1.2"),)]),
        no_tuition_cover_on=st.none(),
    ),
    treads=st.fixed_dictionaries(
        {wheel: st.none() | DAYS.map(lambda day, wheel=wheel: tread(wheel, read_on=day)) for wheel in WHEELS}
    ),
    checked_on=st.none() | DAYS,
    answers=st.fixed_dictionaries({}, optional={name: st.builds(Answer, DAYS, st.booleans()) for name in ASKED}),
)


@given(FACTS, st.sampled_from(list(LISTS)))
def test_every_point_is_judged_once_and_ready_is_nothing_but_all_of_them_met(facts: Facts, name: str) -> None:
    found = readiness(LISTS[name], facts)
    assert sorted(f.point.name for f in found.findings) == sorted(point.name for point in LISTS[name].points)
    assert found.is_ready == (found.count(Verdict.NOT_MET) == found.count(Verdict.UNKNOWN) == 0)


@given(st.sampled_from(list(LISTS)), st.data())
def test_take_one_record_away_and_the_car_is_no_longer_ready(name: str, data: st.DataObject) -> None:
    points = [point for point in LISTS[name].points if point.how not in (How.BODY, How.DUAL_CONTROLS, How.DEFECTS)]
    point = data.draw(st.sampled_from(points))
    without = {
        How.DUE_ITEM: {"statuses": {k: v for k, v in READY.statuses.items() if k != point.name}},
        How.CREDENTIAL: {"credentials": {}},
        How.TREAD: {"treads": {**READY.treads, data.draw(st.sampled_from(WHEELS)): None}},
        How.WALKAROUND: {"checked_on": None},
    }.get(point.how, {"answers": {k: v for k, v in READY.answers.items() if k != point.name}})
    found = readiness(LISTS[name], replace(READY, **without))
    assert not found.is_ready
    assert [f.point.name for f in found.findings if f.verdict is Verdict.UNKNOWN] == [point.name]


def test_names_fit_the_book_and_every_point_names_its_source_with_its_standing() -> None:
    points = [point for points in LISTS.values() for point in points.points]
    assert max(len(point.name) for point in points) <= 40
    for point in points:
        assert any(word in point.source for word in ("official", "secondary", "check with", "no source")), point
    for points in LISTS.values():
        assert len({point.name for point in points.points}) == len(points.points)
