"""The page /bring/: a file is chosen and read; nothing of it is kept."""

import io
from datetime import date, time
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import settings as trials
from hypothesis import strategies as st

from config import budgets
from costing.importing.core.sheet import Line, Sheet
from costing.importing.readers.refused import Refused
from costing.importing.services.packing import pack, unpack
from costing.models import Batch, CostEntry, Fill, TeachingRecord
from fleet.models import Car
from instructors.models import Member
from tests.costing.bringing import BRING, look, on, save, send
from tests.costing.pages import text_of
from tests.factories import CarFactory, MemberFactory

NAME = "A PUPIL OF OTHERS"

pytestmark = pytest.mark.usefixtures("today")


def workbook(*rows: list[object]) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def test_a_workbook_is_read_with_its_own_days_numbers_and_times(everyone: dict[str, Client], car: Car) -> None:
    rows = [["Date", "Lessons", "Hours"], [date(2026, 3, 2), 2, time(2, 30)], [date(2026, 3, 3), 3.0, 4.5]]
    save(everyone["keeper"], send(everyone["keeper"], workbook(*rows), "lessons", "diary.xlsx"))
    assert list(TeachingRecord.objects.order_by("from_on").values_list("lesson_count", "minutes")) == [
        (2, 150),
        (3, 270),
    ]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_csv_is_read_however_it_was_saved(everyone: dict[str, Client], car: Car, encoding: str, delimiter: str) -> None:
    rows = [["Date", "Category", "Supplier", "Amount"], ["5/3/2026", "Repairs", "Café £", "86.40"]]
    content = "\r\n".join(delimiter.join(row) for row in rows).encode(encoding)
    save(everyone["keeper"], send(everyone["keeper"], content))
    assert CostEntry.objects.get().supplier == "Café £"


def test_another_order_of_days_is_told(everyone: dict[str, Client], car: Car) -> None:
    month_first = send(everyone["keeper"], "Date,Category,Amount\n3/13/2026,Repairs,1.00\n1/2/2026,Repairs,2.00\n")
    assert "The days in this file have the month first" in text_of(month_first)
    save(everyone["keeper"], month_first, row=["0", "1"])
    assert set(CostEntry.objects.values_list("paid_on", flat=True)) == {date(2026, 3, 13), date(2026, 1, 2)}
    either = send(everyone["keeper"], "Date,Category,Amount\n1/2/2026,Other,1.00\n")
    assert "the day first" in text_of(either)


def test_a_mark_picks_one_of_ones_own_cars_and_no_other(
    everyone: dict[str, Client], car: Car, keeper: Member, colleague_car: Car
) -> None:
    second = CarFactory.create(registration="QC03DEF", keeper=keeper)
    rows = "5/3/2026,qc03 def,Cleaning,9.00\n6/3/2026,QB02XYZ,Cleaning,8.00\n7/3/2026,,Cleaning,7.00\n"
    page = send(everyone["keeper"], f"Date,Reg,Category,Amount\n{rows}")
    assert "Row 3, Reg: is not one of your own cars." in text_of(page)
    save(everyone["keeper"], page, leave_out="on")
    assert set(CostEntry.objects.values_list("car__registration", "amount")) == {
        (second.registration, Decimal(9)),
        (car.registration, Decimal(7)),
    }


def test_what_goes_into_an_electric_car_is_kwh(everyone: dict[str, Client], keeper: Member) -> None:
    CarFactory.create(registration="QD04GHJ", keeper=keeper, fuel="electric")
    page = send(everyone["keeper"], "Date,Odometer,kWh,Cost\n5/3/2026,9000,30,9.00\n", "fill")
    save(everyone["keeper"], page)
    assert Fill.objects.get().unit == "kwh"


def test_a_bank_s_own_statement_tells_payments_only(everyone: dict[str, Client], car: Car) -> None:
    ofx = b"OFXHEADER:100\n\n<OFX><STMTTRN><DTPOSTED>20260305<TRNAMT>-9.00<NAME>X</STMTTRN></OFX>"
    assert "This file is a bank statement" in text_of(send(everyone["keeper"], ofx, "fill"))
    page = send(everyone["keeper"], ofx, "cost")
    assert on(page)["holds"] == ["statement"]
    save(everyone["keeper"], page, **{"category-0": "other"})
    assert CostEntry.objects.get().amount == Decimal(9)


def test_nothing_of_a_row_that_is_left_out_stays_anywhere(everyone: dict[str, Client], car: Car) -> None:
    statement = (
        f"Date,Description,Money Out,Money In\n5/3/2026,CORNER,9.00,\n6/3/2026,{NAME},,38.00\n7/3/2026,{NAME},4.00,\n"
    )
    page = send(everyone["keeper"], statement, "statement")
    corner = next(name for name in on(page) if name.startswith("category-") and _label(page, name) == "CORNER")
    save(everyone["keeper"], page, **{corner: "other"})
    assert CostEntry.objects.count() == 1
    told = everyone["keeper"].get(reverse("costing:entries")).content.decode()
    assert NAME not in told
    assert not any(NAME.lower() in str(row).lower() for model in _models() for row in model.objects.values())
    assert not any(NAME in str(session.get_decoded()) for session in Session.objects.all())
    media = Path(settings.MEDIA_ROOT)
    assert not media.exists() or not any(
        NAME.encode() in path.read_bytes() for path in media.rglob("*") if path.is_file()
    )


def _models() -> list:
    from django.apps import apps

    return [model for model in apps.get_models() if model._meta.app_label == "costing"]


def _label(page, name: str) -> str:
    return page.content.decode().partition(f'<label for="id_{name}">')[2].partition("<")[0]


def test_whoever_has_no_car_is_asked_for_one(everyone: dict[str, Client]) -> None:
    assert "Add a car first" in text_of(everyone["stranger"].get(BRING))


def test_a_page_of_another_member_s_rows_saves_nothing_for_them(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    page = send(everyone["keeper"], "Date,Category,Amount\n5/3/2026,Other,1.00\n")
    save(everyone["keeper"], page)
    theirs = look(everyone["colleague"], page, car=colleague_car.registration)
    assert "This page is out of date" in text_of(save(everyone["colleague"], theirs))
    assert "Choose one of your own cars." in text_of(save(everyone["colleague"], page, ref=None))
    assert not CostEntry.objects.filter(car=colleague_car).exists()


@pytest.mark.parametrize("cells", ["", "x", "eJw=", "AAAA", "=" * 90, "eNqLjgUAARUAuQ==", "é"])
def test_cells_that_are_not_as_they_were_are_refused(everyone: dict[str, Client], car: Car, cells: str) -> None:
    page = send(everyone["keeper"], "Date,Category,Amount\n5/3/2026,Other,1.00\n")
    answer = save(everyone["keeper"], page, cells=cells)
    assert answer.status_code == 200
    assert not Batch.objects.exists()


@pytest.mark.parametrize("lines", [[[1, "a"], [1, "b"]], [["1", "a"]], [[-1, "a"]], [[1, 2]], [[1] + ["a"] * 99]])
def test_packed_cells_are_checked_as_a_file_is(lines: list[list[object]]) -> None:
    import base64
    import json
    import zlib

    text = "\n".join(map(json.dumps, [False, *lines]))
    packed = base64.urlsafe_b64encode(zlib.compress(text.encode())).decode()
    with pytest.raises(Refused):
        unpack(packed)


def test_a_packed_bomb_is_not_unpacked() -> None:
    import base64
    import zlib

    with pytest.raises(Refused):
        unpack(base64.urlsafe_b64encode(zlib.compress(b'false\n[1,"' + b"a" * 90_000_000)).decode())


@pytest.mark.parametrize("unit", [b"[0],", b'{"":0},', b"[[]],"])
def test_packed_brackets_take_little_memory(unit: bytes) -> None:
    import base64
    import tracemalloc
    import zlib

    packed = base64.urlsafe_b64encode(zlib.compress(b"false\n[1," + unit * 980_000 + b"0]")).decode()
    tracemalloc.start()
    with pytest.raises(Refused):
        unpack(packed)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 40_000_000


def test_what_is_packed_is_unpacked_the_same() -> None:
    lines = tuple(Line(n, (f"{n}", "x" * 300)) for n in range(1, budgets.IMPORT_ROWS))
    assert unpack(pack(Sheet(lines))) == Sheet(lines)


TEXTS = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=12)
CELLS = st.sampled_from(["5/3/2026", "13/1/2026", "12.50", "£1,000.00", "-3", "Repairs", "MOT", "", "=1"]) | TEXTS


@pytest.mark.django_db(transaction=False)
@trials(max_examples=40)
@given(
    st.sampled_from(["cost", "statement", "fill", "lessons"]),
    st.lists(st.lists(CELLS, min_size=3, max_size=4), max_size=6),
)
def test_whatever_cells_come_the_sum_saved_is_the_sum_of_the_rows_ticked(holds: str, rows: list[list[str]]) -> None:
    client, member = Client(), MemberFactory.create()
    CarFactory.create(keeper=member)
    client.force_login(member)
    quoted = "\n".join(",".join(f'"{text.replace(chr(34), "")}"' for text in row) for row in rows)
    page = send(client, f"Date,Category,Amount,Lessons\n{quoted}", holds)
    assert page.status_code == 200
    sent = on(page)
    if "cells" not in sent:
        return
    groups = {name: "other" for name in sent if name.startswith("category-")}
    page = client.post(reverse("costing:bring-rows"), {**sent, **groups, "look": "1"})
    assert page.status_code == 200
    answer = save(client, page, leave_out="on")
    if answer.status_code == 200:
        assert 'class="errors"' in answer.content.decode()
        return
    saved = sum(cost.amount for cost in CostEntry.objects.filter(member=member))
    if holds in ("cost", "statement"):
        assert f"£{abs(saved):,.2f} in all" in text_of(page)
