"""What is said of a car off the road: what the law leaves, never more than that."""

from fleet.core.law import left_by_law
from fleet.core.readiness import OffRoadReason

NAMES = ("dangerous", "tread", "mot", "insurance", "vehicle_tax", "cover", "before_next_lesson")


def said(*names: str) -> str:
    return " ".join(rule.words for rule in left_by_law(OffRoadReason(name) for name in names))


def test_each_reason_says_what_it_leaves_once() -> None:
    assert all(said(name) for name in NAMES)
    assert said("tread", "tread") == said("tread")
    assert all(rule.source for rule in left_by_law(OffRoadReason(name) for name in NAMES))


def test_without_an_mot_it_may_go_to_a_booked_test_or_to_repair() -> None:
    assert said("mot").startswith("Without an MOT it may be driven only to a booked test, or to and from repair")


def test_with_something_dangerous_nothing_milder_is_said() -> None:
    assert said("dangerous", "tread", "mot", "before_next_lesson") == said("dangerous")
    assert said("dangerous", "mot", "insurance") == said("dangerous", "insurance")


def test_a_car_without_insurance_must_be_declared() -> None:
    assert "(SORN)" in said("insurance")
