"""What a car must have to be taught in and for a practical test, against what has been published.

Status of each: V read in an official text, V2 in a secondary text only, FROM MEMORY; common practice has no source.
"""

import pytest

from fleet.core.requirements import LISTS, Requirement


def point(list_name: str, name: str) -> Requirement:
    [found] = [point for point in LISTS[list_name].points if point.name == name]
    return found


@pytest.mark.parametrize(
    "name",
    [
        # D10-1, V2: GOV.UK, Driving test: using your own car. Taxed, insured for a test, MOT if over three years
        # old, roadworthy.
        *("vehicle_tax", "insurance", "test_insurance", "mot", "no_stopping_defect", "tread"),
        # No warning lights, undamaged tyres and no space-saver, smoke-free.
        *("warning_lamps", "tyres_sound", "smoke_free"),
        # 62 mph, a speedometer in mph, four wheels, 3,500 kg.
        *("reaches_62_mph", "speedometer", "four_wheels", "under_3500_kg"),
        # A mirror for the examiner, plates, belt and head restraint for the passenger.
        *("examiner_mirror", "l_plates", "passenger_seat"),
        # D10-3, V2: cameras face outside only. D10-4, V2, an older copy: recalls, view.
        *("cameras", "no_recall", "examiner_view"),
        # D10-6, V2: examiners' guidance DT1 section 7.
        *("airbag", "lamps"),
        # D10-7, FROM MEMORY.
        "dual_accelerator",
    ],
)
def test_a_test_day_asks_for_every_published_point(name: str) -> None:
    point("test-day", name)


@pytest.mark.parametrize(
    ("list_name", "name", "standing"),
    [
        ("test-day", "examiner_mirror", "Driving test: using your own car (secondary)"),  # D10-1, V2
        ("test-day", "airbag", "DT1 section 7 (secondary)"),  # D10-6, V2
        ("test-day", "dual_accelerator", "check with DVSA"),  # D10-7, FROM MEMORY
        ("teach", "instructor", "s.123(1) and 129 (official)"),  # D10-8 and D10-10, V
        ("teach", "badge_displayed", "s.123(2) (official)"),  # D10-8, V
        ("teach", "l_plates", "SI 1996/536 for the D plate (official)"),  # D10-12, V
        ("teach", "tread", "reg. 27 (secondary)"),  # T2-1, V2
        ("teach", "walkaround", "check your vehicle (secondary); how often: common practice"),  # W11-1 and W11-6
        ("teach", "second_mirror", "common practice, no source"),  # B19-3
        ("teach", "closed_body", "common practice, no source"),  # B19-4
    ],
)
def test_a_point_names_the_standing_of_its_source(list_name: str, name: str, standing: str) -> None:
    assert standing in point(list_name, name).source.replace("ss.123", "s.123")


def test_the_figures_are_the_published_ones() -> None:
    # D10-1, V2; T2-1, V2.
    assert "62 mph" in point("test-day", "reaches_62_mph").words
    assert "3,500 kg" in point("test-day", "under_3500_kg").words
    assert "1.6 mm" in point("test-day", "tread").words
