"""What a car must have for its first lessons and for a practical test day, as data.

A source is named with its standing: official, or secondary if it was read in a text that repeats the official one.
What only practice asks for says so; where nothing settles it, the source says who to check with.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import NamedTuple

from fleet.core.due_kinds import DUE_KINDS
from fleet.core.points import CHECK_EVERY_DAYS


class How(StrEnum):
    """Which record says whether a point is met. The last three take somebody's answer."""

    DUE_ITEM = "due_item"
    CREDENTIAL = "credential"
    DEFECTS = "defects"
    TREAD = "tread"
    BODY = "body"
    DUAL_CONTROLS = "dual_controls"
    WALKAROUND = "walkaround"
    FITTED = "fitted"
    POLICY = "policy"
    LOOKED_AT = "looked_at"


#: For how many days an answer counts; None: until another is given.
ANSWER_DAYS: Mapping[How, int | None] = {How.FITTED: None, How.POLICY: 365, How.LOOKED_AT: CHECK_EVERY_DAYS}


class Requirement(NamedTuple):
    """One point of a list.

    ``name`` is stored with the answers to it and never changes; a point that a due item tells has its kind.
    """

    name: str
    words: str
    source: str
    how: How

    @property
    def is_asked(self) -> bool:
        """Whether somebody has to answer it."""
        return self.how in ANSWER_DAYS


_DRIVING_TEST = "GOV.UK, Driving test: using your own car (secondary)"
_DT1 = "DVSA, examiners' guidance DT1 section 7 (secondary)"
_PRACTICE = "common practice, no source"
_TREAD_LAW = "Road Vehicles (Construction and Use) Regulations 1986 reg. 27 (secondary)"
_PLATES = "GOV.UK, L plate sizes; SI 1996/536 for the D plate (official)"

#: The point that the insurance policy covers driving tuition, by its keeper's grade.
TUITION_COVER = "tuition_insurance"
_IN_DATE = {
    kind: Requirement(kind.name, kind.in_date, kind.source, How.DUE_ITEM) for kind in DUE_KINDS.values() if kind.in_date
}
_OF_EVERY_CAR = tuple(point for kind, point in _IN_DATE.items() if kind.always_listed)
_OF_TUITION_CARS = tuple(point for kind, point in _IN_DATE.items() if not kind.always_listed)
_DEFECTS = Requirement(
    "no_stopping_defect",
    "No open defect that keeps it off the road",
    "Road Traffic Act 1988 s.40A for what is dangerous (official); the rest: the co-op's own rule",
    How.DEFECTS,
)
_TREAD = Requirement("tread", "No tyre below 1.6 mm of tread", _TREAD_LAW, How.TREAD)
_WALKAROUND = Requirement(
    "walkaround",
    f"Walkaround check in the last {CHECK_EVERY_DAYS} days",
    "what to look at: GOV.UK, check your vehicle (secondary); how often: common practice, no source",
    How.WALKAROUND,
)
_PLATES_SHOWN = Requirement("l_plates", "L plates (in Wales L or D) at the front and the rear", _PLATES, How.FITTED)

#: For a car's first lessons.
_TEACH = (
    *_OF_EVERY_CAR,
    Requirement(
        TUITION_COVER,
        "The insurance covers driving tuition",
        "what the policy leaves out is not insured: check with your insurer",
        How.POLICY,
    ),
    _DEFECTS,
    _TREAD,
    Requirement("closed_body", "A closed body, not a soft top", _PRACTICE, How.BODY),
    Requirement("dual_controls_fitted", "Dual controls fitted", _PRACTICE, How.DUAL_CONTROLS),
    *_OF_TUITION_CARS,
    _PLATES_SHOWN,
    Requirement("second_mirror", "A second interior mirror for you", _PRACTICE, How.FITTED),
    Requirement(
        "badge_displayed",
        "Your badge or trainee licence displayed in the windscreen",
        "Road Traffic Act 1988 s.123(2) (official)",
        How.FITTED,
    ),
    Requirement(
        "instructor",
        "Its keeper is a registered ADI or holds a trainee licence",
        "Road Traffic Act 1988 ss.123(1) and 129 (official)",
        How.CREDENTIAL,
    ),
    _WALKAROUND,
)

#: For a practical test day.
_TEST_DAY = (
    *_OF_EVERY_CAR,
    Requirement("test_insurance", "The insurance covers a driving test", _DRIVING_TEST, How.POLICY),
    _DEFECTS,
    _TREAD,
    _WALKAROUND,
    Requirement("warning_lamps", "No warning lamp on", f"{_DRIVING_TEST}; {_DT1}", How.LOOKED_AT),
    Requirement("airbag", "Airbag lamp off, and the passenger's airbag not switched off", _DT1, How.LOOKED_AT),
    Requirement("lamps", "All obligatory lamps work, reversing lamps too", _DT1, How.LOOKED_AT),
    Requirement(
        "tyres_sound",
        "Tyres undamaged, no space-saver in use, wheels alike on each axle",
        f"{_DRIVING_TEST}; {_DT1}",
        How.LOOKED_AT,
    ),
    _PLATES_SHOWN._replace(source=f"{_PLATES}; {_DRIVING_TEST}", how=How.LOOKED_AT),
    Requirement("examiner_mirror", "An extra interior mirror for the examiner", _DRIVING_TEST, How.LOOKED_AT),
    Requirement("smoke_free", "Smoke-free", _DRIVING_TEST, How.LOOKED_AT),
    Requirement(
        "no_recall",
        "No safety recall of this model open, or proof that it was dealt with",
        "GOV.UK, Driving test: using your own car, an older copy (secondary)",
        How.LOOKED_AT,
    ),
    Requirement(
        "passenger_seat",
        "Seat belt and proper head restraint, not a slip-on one, for the front passenger",
        _DRIVING_TEST,
        How.FITTED,
    ),
    Requirement(
        "examiner_view",
        "A proper view out from the front passenger seat (some soft tops and panel vans are refused)",
        f"GOV.UK, Driving test: using your own car, an older copy (secondary); {_DT1}",
        How.FITTED,
    ),
    Requirement("speedometer", "A speedometer in mph", _DRIVING_TEST, How.FITTED),
    Requirement("reaches_62_mph", "It can reach 62 mph", _DRIVING_TEST, How.FITTED),
    Requirement("four_wheels", "Four wheels", _DRIVING_TEST, How.FITTED),
    Requirement("under_3500_kg", "At most 3,500 kg when fully laden", _DRIVING_TEST, How.FITTED),
    Requirement("cameras", "No camera, or only facing outside, and none that records sound", _DRIVING_TEST, How.FITTED),
    Requirement(
        "dual_accelerator",
        "No dual accelerator, or it is removed or disabled",
        "check with DVSA before the test",
        How.FITTED,
    ),
)


class PointList(NamedTuple):
    """What a car must have for one thing; ``name`` is in the addresses of the pages about it."""

    name: str
    title: str
    points: tuple[Requirement, ...]


LISTS: dict[str, PointList] = {
    points.name: points
    for points in (
        PointList("teach", "Ready to teach", _TEACH),
        PointList("test-day", "Ready for a test day", _TEST_DAY),
    )
}
#: The points that take an answer, by name. Where a point is in both lists, the second asks more often.
ASKED: dict[str, Requirement] = {
    point.name: point for points in LISTS.values() for point in points.points if point.is_asked
}
