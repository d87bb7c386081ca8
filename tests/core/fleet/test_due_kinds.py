from collections import Counter

import pytest

from fleet.core import due_kinds
from fleet.core.due_kinds import DUE_KINDS, MOT, DueKind

OF_A_CAR = [kind for kind in DUE_KINDS.values() if kind.of != "member"]
OF_A_MEMBER = [kind for kind in DUE_KINDS.values() if kind.of != "car"]


def test_what_stops_a_car_is_what_the_law_asks_of_every_car() -> None:
    assert {kind.name for kind in DUE_KINDS.values() if kind.stops_car} == {"mot", "vehicle_tax", "insurance"}
    assert {kind.name for kind in DUE_KINDS.values() if kind.always_listed} == {"mot", "vehicle_tax", "insurance"}
    assert all(kind.is_legal for kind in DUE_KINDS.values() if kind.stops_car or kind.lets_teach)


@pytest.mark.parametrize(
    ("field", "names"),
    [
        # The reminders of these cannot be turned off.
        ("is_legal", ["mot", "vehicle_tax", "insurance", "adi_registration", "pdi_licence", "driving_licence"]),
        ("asks_odometer", ["mot", "service"]),
        ("confirms_tuition", ["insurance"]),
        ("lasts_miles", ["tyres"]),
        ("named_by_note", ["other"]),
        ("record_check_first", ["adi_registration"]),
    ],
)
def test_what_holds_of_these_kinds_alone(field: str, names: list[str]) -> None:
    assert [kind.name for kind in DUE_KINDS.values() if getattr(kind, field)] == names


def test_adi_registration_is_given_more_notice() -> None:
    # The criminal-record check is said to want about three months (DVSA notices, as repeated: V2).
    assert {kind.name: kind.notice_days for kind in DUE_KINDS.values() if kind.notice_days != 30} == {
        "adi_registration": 120
    }
    assert DUE_KINDS["adi_registration"].record_check_first


def test_credentials_are_a_persons() -> None:
    for name in ("adi_registration", "pdi_licence", "driving_licence"):
        assert DUE_KINDS[name].of == "member"
    assert {kind.name for kind in DUE_KINDS.values() if kind.lets_teach} == {"adi_registration", "pdi_licence"}
    assert DUE_KINDS["other"].of == "either"


def test_whose_a_kind_is() -> None:
    belongs = {
        name: [subject for subject in ("car", "member") if DUE_KINDS[name].belongs_to(subject)]
        for name in ("mot", "driving_licence", "other")
    }
    assert belongs == {"mot": ["car"], "driving_licence": ["member"], "other": ["car", "member"]}


def test_what_wears_with_the_miles_may_fall_due_by_them_on_a_car_alone() -> None:
    assert {kind.name for kind in DUE_KINDS.values() if kind.goes_by_miles(of_car=True)} == {
        "service",
        "tyres",
        "other",
    }
    assert not any(kind.goes_by_miles(of_car=False) for kind in DUE_KINDS.values())


def test_every_kind_names_its_source_and_what_to_do() -> None:
    assert all(kind.source and kind.to_do and kind.words for kind in DUE_KINDS.values())


def test_every_name_is_spelled_once_and_fits_its_column() -> None:
    assert len(due_kinds._ALL) == len(DUE_KINDS)
    assert all(name.isidentifier() and len(name) <= 16 for name in DUE_KINDS)


def test_what_a_car_has_is_booked_in_some_category_and_a_credential_in_none() -> None:
    for kind in DUE_KINDS.values():
        assert bool(kind.cost_category) == (kind.of != "member")


def test_no_cost_can_have_paid_for_two_kinds() -> None:
    for paid_for in (
        [kind.cost_category for kind in OF_A_CAR if kind.is_cover],
        [kind.cost_category for kind in OF_A_CAR if kind.after_cost],
    ):
        assert max(Counter(paid_for).values()) == 1
    assert not any(kind.after_cost for kind in OF_A_CAR if kind.is_cover)


@pytest.mark.parametrize(
    ("whose", "fields"),
    [
        (OF_A_CAR, ("stops_car", "always_listed", "by_miles", "asks_odometer", "is_mot", "confirms_tuition")),
        (OF_A_CAR, ("lasts_miles", "after_cost", "of_new_car", "in_date")),
        (OF_A_MEMBER, ("lets_teach", "held_by", "record_check_first")),
    ],
)
def test_what_only_a_car_or_only_a_person_can_have_is_in_no_other_row(
    whose: list[DueKind], fields: tuple[str, ...]
) -> None:
    others = [kind for kind in DUE_KINDS.values() if kind not in whose]
    assert others
    assert not [(kind.name, field) for kind in others for field in fields if getattr(kind, field)]


def test_the_day_of_cover_has_a_name() -> None:
    assert all(kind.last_day for kind in DUE_KINDS.values() if kind.is_cover)


def test_one_kind_goes_by_the_rules_of_mot_tests_and_every_car_must_have_it() -> None:
    assert [kind.name for kind in DUE_KINDS.values() if kind.is_mot] == [MOT.name] == ["mot"]
    assert MOT.always_listed


def test_inside_a_sentence_only_an_abbreviation_keeps_its_capital() -> None:
    assert DUE_KINDS["driving_licence"].words_within == "driving licence photocard"
    assert DUE_KINDS["adi_registration"].words_within == "ADI registration"
    assert MOT.words_within == "MOT"


def test_a_note_is_the_title_only_where_the_kind_is_named_by_it() -> None:
    assert DUE_KINDS["other"].title("Fit a mirror") == "Fit a mirror"
    assert DUE_KINDS["other"].title("") == "Other"
    assert MOT.title("At the corner garage") == "MOT"


def test_only_cover_is_renewed() -> None:
    assert DUE_KINDS["insurance"].done_words == "Record renewal"
    assert DUE_KINDS["service"].done_words == MOT.done_words == "Record as done"


def test_northern_ireland_has_another_authority() -> None:
    assert MOT.to_do_in("NI") == "Book a vehicle test with DVA."
    assert MOT.to_do_in("GB") == "Book an MOT test."
    assert DUE_KINDS["vehicle_tax"].to_do_in("NI") == DUE_KINDS["vehicle_tax"].to_do_in("GB")
    for kind in DUE_KINDS.values():
        assert "DVSA" not in kind.to_do_in("NI")
