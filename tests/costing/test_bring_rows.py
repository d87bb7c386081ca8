"""The page /bring/rows/: every row of a file is looked at, and those taken are saved at once."""

from datetime import date
from decimal import Decimal
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Batch, CostEntry, Fill, Payee, TeachingRecord
from fleet.models import Car
from tests.costing.bringing import ROWS, look, on, save, send
from tests.costing.pages import text_of

LIST = """Date,Category,Supplier,Amount
5/3/2026,Service,Corner Workshop,"£1,234.56"
06-03-26,Road tax,,£15.75
7 March 2026,Sweets,Corner Shop,2.50
"""
FILLS = "Date,Odometer,Litres,Cost\n1/3/2026,41000,40.1,56.10\n8/3/2026,41400,38.25,53.40\n"
LESSONS = "Date,Lessons,Hours\n2026-03-02,4,6\n2026-03-03,2,3:00\n2026-03-04,1,90 min\n"
STATEMENT = """Date,Description,Money Out,Money In,Balance
02/03/2026,CORNER WORKSHOP,86.40,,500.00
03/03/2026,A PUPIL,,38.00,538.00
04/03/2026,GROCER,21.00,,517.00
"""

pytestmark = pytest.mark.usefixtures("today")


def test_costs_are_saved_as_one_batch_that_one_key_undoes(everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], LIST)
    assert "2 costs, £1,250.31 in all" in text_of(page)
    answer = save(everyone["keeper"], page)
    assert (answer.status_code, answer.url) == (303, reverse("costing:entries"))
    batch = Batch.objects.get()
    rows = {(cost.category, cost.amount, cost.paid_on, cost.supplier) for cost in batch.costentry_set.all()}
    assert rows == {
        ("servicing", Decimal("1234.56"), date(2026, 3, 5), "Corner Workshop"),
        ("vehicle_tax", Decimal("15.75"), date(2026, 3, 6), ""),
    }
    told = everyone["keeper"].get(answer.url).content.decode()
    assert "Saved: 2 costs, £1,250.31 in all. One row was left out and forgotten." in told
    undo = reverse("costing:batch-undo", args=[batch.pk])
    assert undo in told
    everyone["keeper"].post(undo)
    assert not CostEntry.objects.standing().exists()


def test_fills_are_saved_in_the_order_of_the_odometer(everyone: dict[str, Client], car: Car) -> None:
    head, *rows = FILLS.splitlines()
    answer = save(everyone["keeper"], send(everyone["keeper"], "\n".join([head, *reversed(rows)]), "fill"))
    assert answer.status_code == 303
    assert list(Fill.objects.order_by("odometer").values_list("odometer", "quantity", "amount", "brimmed")) == [
        (41000, Decimal("40.1"), Decimal("56.10"), True),
        (41400, Decimal("38.25"), Decimal("53.40"), True),
    ]


def test_lessons_are_saved_with_hours_in_any_writing(everyone: dict[str, Client], car: Car) -> None:
    assert save(everyone["keeper"], send(everyone["keeper"], LESSONS, "lessons")).status_code == 303
    assert list(TeachingRecord.objects.order_by("from_on").values_list("lesson_count", "minutes")) == [
        (4, 360),
        (2, 180),
        (1, 90),
    ]


def test_a_statement_takes_nothing_until_its_payees_have_a_category(everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], STATEMENT, "statement")
    assert "2 rows have no category yet. Choose what they were for, and they are saved too." in text_of(page)
    assert "Money in. Tick it if it is a refund" in text_of(page)
    numbers = {name: name for name in on(page) if name.startswith("category-")}
    assert len(numbers) == 3
    workshop = next(f"category-{n}" for n in range(3) if _named(page, n) == "CORNER WORKSHOP")
    save(everyone["keeper"], page, **{workshop: "repairs"})
    assert CostEntry.objects.get().supplier == "CORNER WORKSHOP"
    assert list(Payee.objects.values_list("name", "category")) == [("corner workshop", "repairs")]

    again = STATEMENT.replace("02/03/2026", "12/03/2026")
    assert "1 cost, £86.40 in all" in text_of(send(everyone["keeper"], again, "statement"))


def _named(page, number: int) -> str:
    text = page.content.decode()
    return text.partition(f'<label for="id_category-{number}">')[2].partition("<")[0]


def test_the_last_page_sent_twice_saves_once(everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], LIST)
    save(everyone["keeper"], page)
    again = save(everyone["keeper"], page)
    assert "Saved already, nothing was added." in text_of(everyone["keeper"].get(again.url))
    assert CostEntry.objects.count() == 2


def test_what_looks_like_an_entry_is_left_out_unless_ticked(everyone: dict[str, Client], car: Car) -> None:
    save(everyone["keeper"], send(everyone["keeper"], LIST))
    page = send(everyone["keeper"], LIST)
    text = text_of(page)
    assert "Nothing to save yet" in text
    assert "Looks like Servicing, £1,234.56, on 5 March 2026 in the book." in text
    assert "No row is ticked and has a category" in text_of(save(everyone["keeper"], page))
    save(everyone["keeper"], page, row=["0"])
    assert CostEntry.objects.count() == 3


def test_a_row_that_cannot_be_read_is_told_with_row_and_column(everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], LIST.replace("£15.75", "=SUM(A1)"))
    assert "Row 3, Amount: is a formula" in text_of(page)
    assert "One row cannot be read. Mend the file, or tick this." in text_of(save(everyone["keeper"], page))
    assert not CostEntry.objects.exists()
    assert save(everyone["keeper"], page, leave_out="on").status_code == 303
    assert CostEntry.objects.count() == 1


def test_nothing_is_saved_if_the_book_refuses_one_row(everyone: dict[str, Client], car: Car) -> None:
    falling = FILLS.replace("41400", "40900")
    page = save(everyone["keeper"], send(everyone["keeper"], falling, "fill"), row=["0", "1"])
    assert "Row 3, Odometer:" in text_of(page)
    assert not Fill.objects.exists()
    assert not Batch.objects.exists()


def test_columns_are_changeable_and_the_rows_read_again(everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], "a,b,c\n5/3/2026,9.99,12.50\n")
    page = look(everyone["keeper"], page, column_amount="2", **{"category-0": "other"})
    assert "£12.50" in text_of(page)
    save(everyone["keeper"], page, **{"category-0": "other"})
    assert CostEntry.objects.get().amount == Decimal("12.50")


def test_rows_beyond_the_page_keep_their_ticks(everyone: dict[str, Client], car: Car) -> None:
    days = [date(2025, 1, 1).toordinal() + 5 * n for n in range(70)]
    rows = "".join(f"{date.fromordinal(day)},Cleaning,{10 + n}.00\n" for n, day in enumerate(days))
    page = send(everyone["keeper"], f"Date,Category,Amount\n{rows}")
    first = on(page)
    page = everyone["keeper"].post(ROWS, {**first, "row": first["row"][1:], "to": "2"})
    assert "page 2 of 2" in text_of(page)
    save(everyone["keeper"], page, row=on(page)["row"][:-1])
    assert CostEntry.objects.count() == 68
    assert set(CostEntry.objects.values_list("category", flat=True)) == {"cleaning"}


def test_who_only_opens_the_address_is_asked_for_a_file(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["keeper"].get(ROWS).url == reverse("costing:bring-file")


def test_a_row_that_can_hardly_be_right_is_left_out_until_it_is_put_right(
    everyone: dict[str, Client], car: Car
) -> None:
    head, *_ = FILLS.splitlines()
    rows = [f"{date(2026, 1, 1 + 3 * n)},{41000 + 300 * n},30.{n}1,{42 + n / 10:.2f}" for n in range(8)]
    page = send(everyone["keeper"], "\n".join([head, *rows, "2026-02-01,434000,30.5,42.90"]), "fill")
    assert "8 fills" in text_of(page)
    assert "Tick it if it is right." in text_of(page)
    meant = page.content.decode().partition('name="meant"')[2].partition('value="')[2].partition('"')[0]
    page = everyone["keeper"].post(ROWS, {**on(page), "meant": unescape(meant)})
    assert "9 fills" in text_of(page)
    assert "put right" in text_of(page)
    assert save(everyone["keeper"], page).status_code == 303
    assert Fill.objects.latest("filled_on").odometer == 43400


@pytest.mark.parametrize("amended", ["2.odometer=5", "2.to_on=1999-01-01", "2.minutes=90", "2.brimmed=on"])
def test_what_a_file_of_this_kind_does_not_tell_is_no_meaning_of_its_rows(
    everyone: dict[str, Client], car: Car, amended: str
) -> None:
    page = send(everyone["keeper"], "Date,Category,Amount\n5/3/2026,Cleaning,12.50\n")
    again = look(everyone["keeper"], page, amended=amended)
    assert "1 cost, £12.50 in all" in text_of(again)
    assert "put right" not in text_of(again)


def test_a_category_for_a_group_without_end_is_passed_over(everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], "Date,Category,Amount\n5/3/2026,Cleaning,12.50\n")
    assert "1 cost, £12.50 in all" in text_of(look(everyone["keeper"], page, categories=f"{'9' * 5_000}:other"))


def test_what_is_right_although_asked_is_told_in_the_entry(everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], "Date,Category,Amount\n5/3/2026,Cleaning,9000\n")
    assert "0 costs" in text_of(page) or "Nothing to save yet" in text_of(page)
    save(everyone["keeper"], page, row=["0"])
    assert CostEntry.objects.get().found_right


def test_a_list_of_fills_read_as_payments_is_read_as_fills_by_one_key(everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], FILLS, "statement")
    assert "Its columns look like a list of fills" in text_of(page)
    page = everyone["keeper"].post(ROWS, {**on(page), "as_fills": "1"})
    assert "2 fills, £109.50 in all" in text_of(page)
    assert "look like a list of fills" not in text_of(page)
    save(everyone["keeper"], page)
    assert Fill.objects.count() == 2


def test_a_statement_says_where_fuel_goes_and_has_a_line_a_payee(everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], STATEMENT, "statement")
    assert "Payments for fuel stay out: log them as fills" in text_of(page)
    assert page.content.decode().count('<div class="slip">') == 1
    assert "like a list of fills" not in text_of(page)
