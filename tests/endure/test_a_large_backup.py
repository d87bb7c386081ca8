"""A book of 200,000 rows and 500 photos is backed up and restored, in memory that does not grow with it."""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.files.base import ContentFile

from costing.models import CostEntry, TeachingRecord
from fleet.models import Car, OdometerReading
from tests.factories import CarFactory, PhotoFactory
from tests.flows.whole_book import contents, empty, rows
from tests.processes import BookProcess

CARS, DAYS = 40, 1_250
#: Of one process, in MB; 80 of them are for code.
MOST_MEMORY = 200
PEAK = """
import sys
import django
django.setup()
from django.core.management import call_command
call_command(*sys.argv[1:])
for line in open("/proc/self/status"):
    if line.startswith("VmHWM"):
        print(line)
"""


def log_for(car: Car, day: int) -> tuple[OdometerReading, CostEntry, CostEntry, TeachingRecord]:
    on, moment = date(2020, 1, 1) + timedelta(days=day), datetime(2026, 3, 10, 18, tzinfo=UTC)
    whose = {"car": car, "member": car.keeper, "created_at": moment}
    costs = [
        CostEntry(**whose, ref=f"{name}-{car.pk}-{day}", paid_on=on, category="cleaning", amount=Decimal("12.34"))
        for name in ("Łąkowska", "b")
    ]
    lessons = TeachingRecord(**whose, ref=f"t-{car.pk}-{day}", from_on=on, to_on=on, lesson_count=4, minutes=240)
    return OdometerReading(car=car, read_on=on, miles=1_000 + day * 60), costs[0], costs[1], lessons


@pytest.mark.django_db(transaction=True)
def test_200_000_rows_there_and_back(
    files_folder: Path, book_process: Callable[..., BookProcess], tmp_path: Path
) -> None:
    for car in [CarFactory.create() for _ in range(CARS)]:
        for kind in zip(*(log_for(car, day) for day in range(DAYS)), strict=True):
            type(kind[0]).objects.bulk_create(kind, batch_size=500)
    for number in range(500):
        PhotoFactory.create(image=ContentFile(bytes(range(256)) * 800, f"{number}.jpg"))
    before, files = rows(), contents(files_folder)
    assert sum(map(len, before.values())) > 200_000

    def run(*command: str) -> None:
        process = book_process("-c", PEAK, *command, DATA_DIR=str(tmp_path))
        assert process.wait(600) == 0, process.output()
        [peak] = re.findall(r"VmHWM:\s+(\d+) kB", process.output())
        assert int(peak) < MOST_MEMORY * 1_000, process.output()

    run("backup", "--unencrypted", "--to", str(tmp_path / "a.backup"))
    empty(files_folder)
    run("restore", str(tmp_path / "a.backup"))
    assert contents(files_folder) == files
    assert rows() == before
