from fleet.core.defects import CONSEQUENCES, Severity, comes_to_stop, is_relief, needs_evidence

DANGEROUS, BEFORE_NEXT_LESSON, WATCH = Severity


def test_all_but_what_is_to_be_watched_stops_the_car() -> None:
    assert [severity for severity in Severity if severity.stops_car] == [DANGEROUS, BEFORE_NEXT_LESSON]


def test_a_defect_comes_to_stop_its_car_when_it_is_new_or_graver_than_before() -> None:
    stops = {
        (before, after) for before in (None, *Severity) for after in (None, *Severity) if comes_to_stop(before, after)
    }
    assert stops == {
        (None, DANGEROUS),
        (None, BEFORE_NEXT_LESSON),
        (WATCH, DANGEROUS),
        (WATCH, BEFORE_NEXT_LESSON),
        (BEFORE_NEXT_LESSON, DANGEROUS),
    }


def test_a_grave_defect_that_is_closed_or_judged_less_serious_asks_what_was_done() -> None:
    relieved = {(before, after) for before in Severity for after in (None, *Severity) if is_relief(before, after)}
    assert relieved == {
        (DANGEROUS, None),
        (DANGEROUS, BEFORE_NEXT_LESSON),
        (DANGEROUS, WATCH),
        (BEFORE_NEXT_LESSON, None),
        (BEFORE_NEXT_LESSON, WATCH),
    }
    # Only the end of a danger takes a photo or a second member too.
    assert {pair for pair in relieved if needs_evidence(*pair)} == {pair for pair in relieved if pair[0] is DANGEROUS}
    assert not needs_evidence(DANGEROUS, DANGEROUS)


def test_each_severity_says_what_to_do_and_each_rule_where_it_was_read_and_with_what_standing() -> None:
    assert list(CONSEQUENCES) == list(Severity)
    for consequence in CONSEQUENCES.values():
        assert consequence.to_do.endswith(".")
        for rule in consequence.rules:
            assert rule.words.endswith(".")
            assert rule.source.endswith(("(official)", "(secondary)"))


def test_what_is_dangerous_is_not_to_be_driven_at_all_and_a_technician_is_to_look() -> None:
    words = CONSEQUENCES[DANGEROUS].to_do
    assert "Do not drive it at all" in words
    assert "qualified technician" in words


def test_nothing_is_ever_called_safe() -> None:
    for consequence in CONSEQUENCES.values():
        said = " ".join([consequence.to_do, *(rule.words for rule in consequence.rules)]).lower()
        assert "safe" not in said
