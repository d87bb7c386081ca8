"""Files made against the book, through the real commands and pages, in processes whose time and memory are watched.

What an honest reader takes a blink for must not take a minute, nor what is sent in kilobytes hundreds of megabytes.
"""

import json
import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from config import budgets
from costing.archive.reading import read_sheet
from costing.archive.tables import TABLES
from costing.choosing.document.toml import BadFile, beyond_budget, document_in
from fleet.models import Car
from instructors.models import Member
from tests.factories import CarFactory, MemberFactory
from tests.faults import hostile
from tests.faults.hostile import ARCHIVES, OFFERS_FILES, PICTURES
from tests.processes import BookProcess

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(not Path("/proc/self/clear_refs").exists(), reason="this system does not tell a peak of memory"),
]

MOST_MEGABYTES = 300
#: Of work, and not of waiting: the machine may be busy.
MOST_SECONDS = 2
#: Whoever loads an archive sits at a shell; the files are megabytes.
MOST_SECONDS_OF_A_COMMAND = 10

PREAMBLE = """
import contextlib, io, json, resource, sys, time
import django
django.setup()

def spent():
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)

def told(case, answer):
    before = spent()
    open("/proc/self/clear_refs", "w").write("5")
    status, said = answer(case)
    peak = next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM"))
    print(json.dumps([status, said[-3000:], spent() - before, peak / 1024]), flush=True)

cases = json.loads(open(sys.argv[1]).read())
"""

COMMANDS = """
from django.core.management import execute_from_command_line

def run(arguments):
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            execute_from_command_line(["manage.py", *arguments])
        except SystemExit as left:
            return left.code, said.getvalue()
    return 0, said.getvalue()

for case in cases:
    told(case, run)
"""

UPLOADS = """
from django.test import Client
from instructors.models import Member

client = Client()
client.force_login(Member.objects.get())
client.get("/more/")  # what the first page of a process imports is not of any file

def upload(case):
    address, name, path, typed = case
    with open(path, "rb") as file:
        response = client.post(address, typed | {name: file})
    return response.status_code, response.content.decode()

for case in cases:
    told(case, upload)
"""

Run = Callable[..., list[tuple[int, str, float, float]]]


@pytest.fixture
def run(book_process: Callable[..., BookProcess], tmp_path: Path) -> Run:
    """A function that puts cases to a script in a process of its own; of each: status, words, seconds, megabytes."""

    def run(script: str, cases: list[Any]) -> list[tuple[int, str, float, float]]:
        (tmp_path / "cases.json").write_text(json.dumps(cases))
        process = book_process("-c", PREAMBLE + script, str(tmp_path / "cases.json"), ALLOWED_HOSTS="testserver")
        assert process.wait(seconds=120) == 0, process.output()[-3_000:]
        answers = [json.loads(line) for line in process.output().splitlines() if line.startswith("[")]
        assert len(answers) == len(cases), process.output()[-3_000:]
        return [tuple(answer) for answer in answers]

    return run


def test_offers_files_are_refused_before_they_cost_anything(run: Run, tmp_path: Path) -> None:
    paths = []
    for number, (text, _) in enumerate(OFFERS_FILES.values()):
        paths.append(tmp_path / f"{number}.toml")
        paths[-1].write_text(text)
    answers = run(COMMANDS, [["compare_offers", str(path)] for path in paths])
    for (name, (_, words)), (status, said, seconds, peak) in zip(OFFERS_FILES.items(), answers, strict=True):
        assert (status, words in said) == (1, True), f"{name}: {said}"
        assert len(said.splitlines()) <= budgets.OFFERS_FAULTS + 1, name
        assert seconds < MOST_SECONDS, f"{name}: {seconds:.1f} s"
        assert peak < MOST_MEGABYTES, f"{name}: {peak:.0f} MB"


def test_a_file_without_an_end_is_not_waited_for(run: Run, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    cases = [
        [command, path]
        for command in ("compare_offers", "load_archive")
        for path in ("/dev/zero", str(tmp_path / "pipe"))
    ]
    for case, (status, said, seconds, _) in zip(cases, run(COMMANDS, cases), strict=True):
        assert status == 1, said
        assert "cannot be read" in said or "that can be read" in said, said
        assert seconds < MOST_SECONDS, case


def test_the_page_refuses_what_the_command_refuses(run: Run, member: Member, tmp_path: Path) -> None:
    cases = []
    for number, (text, _) in enumerate(OFFERS_FILES.values()):
        path = tmp_path / f"{number}.toml"
        path.write_text(text)
        cases.append([reverse("costing:comparison-upload"), "file", str(path), {}])
    for name, (status, said, seconds, peak) in zip(OFFERS_FILES, run(UPLOADS, cases), strict=True):
        assert status == 200, f"{name}: {said}"
        assert seconds < MOST_SECONDS, f"{name}: {seconds:.1f} s"
        assert peak < MOST_MEGABYTES, f"{name}: {peak:.0f} MB"


@pytest.fixture
def member(transactional_db: None) -> Member:
    """The one member of the book."""
    return MemberFactory.create()


def test_archives_are_refused_before_they_cost_anything(run: Run, tmp_path: Path) -> None:
    wanted = {name: words for name, (_, words) in ARCHIVES.items()}
    for name, (files, _) in ARCHIVES.items():
        (tmp_path / name).mkdir()
        for file, text in files().items():
            (tmp_path / name / file).write_text(text, newline="")
    hostile.write_crowded_zip(tmp_path / "crowded.zip")
    hostile.write_bomb(tmp_path / "bomb.zip")
    hostile.write_linked_zip(tmp_path / "linked.zip")
    hostile.write_folder_of_specials(tmp_path / "specials")
    wanted |= {"crowded.zip": "holds more than 200 files", "bomb.zip": "holds more than 32 MB"}
    wanted |= {"linked.zip": "is a link to another file", "specials": "costs.csv:1: (file): cannot be read: it is not"}
    answers = run(COMMANDS, [["load_archive", str(tmp_path / name)] for name in wanted])
    for (name, words), (status, said, seconds, peak) in zip(wanted.items(), answers, strict=True):
        assert (status, words in said) == (1, True), f"{name}: {said}"
        assert seconds < MOST_SECONDS_OF_A_COMMAND, f"{name}: {seconds:.1f} s"
        assert peak < MOST_MEGABYTES, f"{name}: {peak:.0f} MB"
    assert not Member.objects.exists()


def test_pictures_cost_little_whatever_they_are(run: Run, member: Member, tmp_path: Path) -> None:
    car: Car = CarFactory.create(keeper=member)
    cases = []
    for number, picture in enumerate(PICTURES.values()):
        path = tmp_path / f"{number}.jpg"
        path.write_bytes(picture())
        assert path.stat().st_size < budgets.PICTURE_BYTES
        cases.append([reverse("fleet:defect-report", args=[car.registration]), "picture", str(path), {}])
    for name, (status, said, seconds, peak) in zip(PICTURES, run(UPLOADS, cases), strict=True):
        assert status == 200, f"{name}: {said}"  # shown again: nothing else is filled in
        assert seconds < MOST_SECONDS, f"{name}: {seconds:.1f} s"
        assert peak < MOST_MEGABYTES, f"{name}: {peak:.0f} MB"


# --- At random -----------------------------------------------------------------------------------------

SIGNS = [*"[]{}\"'.,=#\\-_\n\t\r\0 é1a", '"""', "'''", "[[", "]]", "[[offer]]\n", "use", "months", "1e9", "0x", "inf"]


@given(scraps=st.lists(st.sampled_from(SIGNS), max_size=60), times=st.integers(1, 400))
@settings(max_examples=150)
def test_no_text_takes_long_or_stumbles(scraps: list[str], times: int) -> None:
    text = "".join(scraps) * times
    started = time.process_time()
    with pytest.raises(BadFile):
        document_in("offers.toml", text.encode()[: budgets.OFFERS_FILE_BYTES])
    assert time.process_time() - started < MOST_SECONDS


@given(text=st.text(alphabet="[]{}\"'.,=#\n\\e1 a", max_size=200))
def test_measuring_passes_over_nothing(text: str) -> None:
    """Whatever precedes it, outside of strings and remarks a key of too many parts is found."""
    plain = "".join(char for char in text if char not in "\"'#\\")
    assert beyond_budget(f"{plain}\na.a.a.a.a = 1")


@given(data=st.one_of(st.binary(max_size=300), st.text(alphabet='",\n\r ;\ta1é\0', max_size=300).map(str.encode)))
def test_no_bytes_of_an_archive_make_its_reader_stumble(data: bytes) -> None:
    for table in TABLES[:3]:
        sheet = read_sheet(table, data)
        assert all(fault.line >= 1 for fault in sheet.faults)
