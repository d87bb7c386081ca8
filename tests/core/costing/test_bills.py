"""What a bill or a quote may be typed for."""

from costing.core.catalogue.bills import BILL_CHOICES, BILL_KINDS, TAX_BILL
from fleet.core.due_kinds import DUE_KINDS


def test_whatever_falls_due_may_have_a_quote() -> None:
    assert set(BILL_KINDS) == {TAX_BILL.name, *DUE_KINDS}
    assert [name for name, kind in BILL_KINDS.items() if not kind.falls_due] == [TAX_BILL.name, "other"]
    assert [name for name, kind in BILL_KINDS.items() if kind.is_named] == ["other"]


def test_a_bill_of_a_car_becomes_a_cost_of_its_kind() -> None:
    assert {kind.category for kind in BILL_KINDS.values() if not kind.of_car} == {""}
    assert BILL_KINDS["service"].category == "servicing"
    assert BILL_KINDS["insurance"].of_car


def test_the_form_offers_the_tax_bill_first() -> None:
    assert BILL_CHOICES[0] == ("tax_bill", "Tax bill")
    assert ("other", "Something else") in BILL_CHOICES
