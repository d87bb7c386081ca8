from fleet.core.kinds import DUE_KINDS


def test_what_stops_a_car_is_what_the_law_asks_of_every_car() -> None:
    assert {kind.name for kind in DUE_KINDS.values() if kind.stops_car} == {"mot", "vehicle_tax", "insurance"}
    assert {kind.name for kind in DUE_KINDS.values() if kind.always_listed} == {"mot", "vehicle_tax", "insurance"}


def test_only_adi_registration_is_given_more_notice() -> None:
    # The criminal-record check is said to want about three months (DVSA notices, as repeated: V2).
    assert {kind.name: kind.notice_days for kind in DUE_KINDS.values() if kind.notice_days != 30} == {
        "adi_registration": 90
    }


def test_credentials_are_a_persons_and_the_rest_a_cars() -> None:
    of_a_member = {"adi_registration", "pdi_licence", "driving_licence"}
    assert {kind.name for kind in DUE_KINDS.values() if kind.of == "member"} == of_a_member
    assert DUE_KINDS["other"].of == "either"


def test_every_kind_names_its_source_and_what_to_do() -> None:
    assert all(kind.source and kind.to_do and kind.words for kind in DUE_KINDS.values())


def test_what_a_car_has_is_booked_in_some_category_and_a_credential_in_none() -> None:
    for kind in DUE_KINDS.values():
        assert bool(kind.cost_category) == (kind.of != "member")


def test_northern_ireland_has_another_authority() -> None:
    assert DUE_KINDS["mot"].to_do_in("NI") == "Book a vehicle test with DVA."
    assert DUE_KINDS["mot"].to_do_in("GB") == "Book an MOT test."
    assert DUE_KINDS["vehicle_tax"].to_do_in("NI") == DUE_KINDS["vehicle_tax"].to_do_in("GB")
    for kind in DUE_KINDS.values():
        assert "DVSA" not in kind.to_do_in("NI")
