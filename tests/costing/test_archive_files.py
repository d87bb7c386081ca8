"""How the files of an archive may come: as a folder or zip, from any spreadsheet, on any system."""

import os
import shutil
import zipfile
from pathlib import Path

import pytest

from config import budgets
from costing.archive.dumping import dump
from costing.archive.faults import ArchiveRefused
from costing.archive.loading import load
from costing.models import CostEntry, TeachingRecord
from instructors.models import Member
from tests.costing.archive_sample import SAMPLE, row_counts, write_archive
from tests.faults.hostile import write_linked_zip

pytestmark = pytest.mark.django_db

AS_BYTES = {name: text.encode() for name, text in SAMPLE.items()}


def write_zip(path: Path, files: dict[str, bytes], how: int = zipfile.ZIP_DEFLATED) -> Path:
    with zipfile.ZipFile(path, "w", how) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return path


def refusal_of(path: Path) -> list[str]:
    before = row_counts()
    with pytest.raises(ArchiveRefused) as refused:
        load(path)
    assert row_counts() == before
    return [str(fault) for fault in refused.value.faults]


def is_loaded_whole() -> bool:
    return dump().files == AS_BYTES


# --- What is taken ---------------------------------------------------------------------------------------


def test_a_folder_is_taken(tmp_path: Path) -> None:
    load(write_archive(tmp_path / "archive"))
    assert is_loaded_whole()


def test_a_zip_is_taken(tmp_path: Path) -> None:
    load(write_zip(tmp_path / "archive.zip", AS_BYTES))
    assert is_loaded_whole()


def test_a_zipped_folder_with_the_litter_of_its_system_is_taken(tmp_path: Path) -> None:
    files = {f"our book/{name}": data for name, data in AS_BYTES.items()}
    litter = {
        "__MACOSX/our book/._costs.csv": b"\0",
        "our book/.DS_Store": b"\0",
        "our book/Thumbs.db": b"\0",
    }
    with zipfile.ZipFile(write_zip(tmp_path / "a.zip", files | litter), "a") as archive:
        archive.mkdir("our book/empty")
    load(tmp_path / "a.zip")
    assert is_loaded_whole()


def test_the_litter_of_a_folder_is_passed_over(tmp_path: Path) -> None:
    folder = write_archive(tmp_path / "archive")
    (folder / ".DS_Store").write_bytes(b"\0")
    (folder / "__MACOSX").mkdir()
    load(folder)
    assert is_loaded_whole()


@pytest.mark.parametrize("line_end", ["\r\n", "\r"])
def test_a_byte_order_mark_and_other_line_ends_are_taken(line_end: str, tmp_path: Path) -> None:
    files = {name: b"\xef\xbb\xbf" + text.replace("\n", line_end).encode() for name, text in SAMPLE.items()}
    load(write_zip(tmp_path / "a.zip", files))
    assert is_loaded_whole()


def test_columns_in_another_order_and_blank_lines_are_taken(tmp_path: Path) -> None:
    text = "\n value , registration,valued_on\n\n7900,qa51 abc,2026-01-08\n,,\n   \n"
    load(write_archive(tmp_path / "archive", SAMPLE | {"valuations.csv": text}))
    assert is_loaded_whole()


def test_columns_that_may_be_empty_may_be_missing(tmp_path: Path) -> None:
    text = (
        "ref,registration,member_email,filled_on,odometer,quantity,unit,amount\n"
        "f-1,QA51ABC,ann@book.example,2025-06-01,36000,34.5,litre,47.92\n"
    )
    load(write_archive(tmp_path / "archive", SAMPLE | {"fills.csv": text}))
    assert dump().files["fills.csv"].decode().splitlines()[1:] == [
        "f-1,QA51ABC,ann@book.example,2025-06-01,36000,34.50,litre,47.92,true,false"
    ]


def test_what_is_left_empty_gets_its_usual_value(tmp_path: Path) -> None:
    files = {
        "cooperative.csv": "name\nHillside\n",
        "members.csv": "email,name,role,grade\nann@book.example,Ann,member,\n",
        "cars.csv": ("registration,keeper_email,fuel,in_service_from\nQA51ABC,ann@book.example,petrol,2024-01-08\n"),
        "teaching.csv": (
            "ref,registration,member_email,from_on,to_on,lessons,hours,private_miles\n"
            "t,QA51ABC,ann@book.example,2025-01-01,2025-01-01,0,0,\n"
        ),
    }
    load(write_archive(tmp_path / "archive", files))
    rows = {name: data.decode().splitlines()[1:] for name, data in dump().files.items()}
    assert rows["cooperative.csv"] == ["Hillside,GB,5,0.15,7,10,20"]
    assert rows["members.csv"] == ["ann@book.example,Ann,member,ADI,,"]
    assert rows["cars.csv"] == ["QA51ABC,,ann@book.example,petrol,manual,false,true,,,2024-01-08,,"]
    assert rows["teaching.csv"] == ["t,QA51ABC,ann@book.example,2025-01-01,2025-01-01,0,0.00,"]


def test_an_empty_figure_of_lessons_is_not_known_and_comes_back_empty(tmp_path: Path) -> None:
    """Empty means unknown: none of the three becomes 0, whether its cell or its column is missing."""
    some = "ref,registration,member_email,from_on,to_on,{}\nt,QB02XYZ,bo@book.example,2025-06-02,2025-06-02,{}\n"
    given = {
        ("lessons,hours,private_miles", ",1.50,12"): (None, 90, 12),
        ("lessons,hours,private_miles", "2,,"): (2, None, None),
        ("lessons", "0"): (0, None, None),
        ("private_miles", ""): (None, None, None),
    }
    for number, ((columns, cells), told) in enumerate(given.items()):
        files = SAMPLE | {"teaching.csv": some.format(columns, cells).replace("\nt,", f"\nt-{number}0,")}
        load(write_archive(tmp_path / str(number), files))
        record = TeachingRecord.objects.get(ref=f"t-{number}0")
        assert (record.lesson_count, record.minutes, record.private_miles) == told
    lines = dump().files["teaching.csv"].decode().splitlines()[1:]
    assert [line.split(",", 5)[5] for line in lines] == [",1.50,12", "2,,", "0,,", ",,"]


def test_true_and_false_in_capitals_are_taken_as_spreadsheets_save_them(tmp_path: Path) -> None:
    shouted = SAMPLE["cars.csv"].replace("true", "TRUE").replace("false", "FALSE")
    load(write_archive(tmp_path / "archive", SAMPLE | {"cars.csv": shouted}))
    assert is_loaded_whole()


def test_an_archive_without_a_file_or_with_an_empty_one_is_taken(tmp_path: Path) -> None:
    files = {"members.csv": SAMPLE["members.csv"], "cars.csv": "", "costs.csv": "\n", "fills.csv": "ref\n"}
    with pytest.raises(ArchiveRefused):  # a header that lacks columns is not an empty file
        load(write_archive(tmp_path / "archive", files))
    del files["fills.csv"]
    shutil.rmtree(tmp_path / "archive")
    loaded = load(write_archive(tmp_path / "archive", files))
    assert {file: count for file, count in loaded.added.items() if count} == {"members.csv": 3}


def test_an_empty_folder_is_an_empty_archive(tmp_path: Path) -> None:
    assert set(load(tmp_path).added.values()) == {0}


def test_names_and_notes_in_any_alphabet_come_through(tmp_path: Path) -> None:
    load(write_archive(tmp_path / "archive"))
    assert Member.objects.get(email="bo@book.example").name == "Ελπίδα Καραβίδα"
    assert Member.objects.get(email="cy@book.example").name == "Łąkowska, Żaneta"
    assert CostEntry.objects.get(ref="c-2").note == 'Two lines,\nand a "quotation"'


def test_no_member_can_sign_in_by_a_password_nobody_set(tmp_path: Path) -> None:
    load(write_archive(tmp_path / "archive"))
    assert not any(member.has_usable_password() for member in Member.objects.all())


# --- What is refused -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "line"),
    [
        ("registration,valued_on,value\nQA51ABC,2026-01-08,£7900\n".encode("cp1252"), 2),
        (SAMPLE["valuations.csv"].encode("utf-16"), 1),
        (SAMPLE["valuations.csv"].encode().replace(b"7900", b"79\xff0"), 2),
    ],
    ids=["cp1252", "UTF-16", "a stray byte"],
)
def test_what_is_not_utf_8_is_refused_with_advice(data: bytes, line: int, tmp_path: Path) -> None:
    (told,) = refusal_of(write_zip(tmp_path / "a.zip", AS_BYTES | {"valuations.csv": data}))
    assert told.startswith(f"valuations.csv:{line}: (file): is not UTF-8 text; save it again as")


@pytest.mark.parametrize("name", ["notes.csv", "Costs.csv", "costs.csv.bak", "costs.xlsx", "more/costs.csv"])
def test_an_unknown_file_is_refused(name: str, tmp_path: Path) -> None:
    folder = write_archive(tmp_path / "archive")
    (folder / name).parent.mkdir(exist_ok=True)
    (folder / name).write_text("")
    (told,) = refusal_of(folder)
    assert told.startswith(f"{name.partition('/')[0]}:1: (file): is not a file of the archive")

    (told,) = refusal_of(write_zip(tmp_path / "a.zip", AS_BYTES | {name: b""}))
    assert told.startswith(f"{name}:1: (file): is not a file of the archive")


def test_an_unknown_file_beside_bad_rows_hides_neither(tmp_path: Path) -> None:
    told = refusal_of(write_zip(tmp_path / "a.zip", {"odd.txt": b"", "members.csv": b"email,name,role\nx,,\n"}))
    assert [":".join(fault.split(":", 3)[:3]) for fault in told] == [
        "odd.txt:1: (file)",
        "members.csv:2: email",
        "members.csv:2: name",
        "members.csv:2: role",
    ]


@pytest.mark.parametrize("name", ["../costs.csv", "/costs.csv"])
def test_a_name_that_leads_out_of_the_zip_is_refused(name: str, tmp_path: Path) -> None:
    (told,) = refusal_of(write_zip(tmp_path / "a.zip", {name: AS_BYTES["costs.csv"]}))
    assert "is not a file of the archive" in told


@pytest.mark.parametrize("data", [b"", b"no zip at all", b"PK\x03\x04 cut short"])
def test_a_file_that_is_no_zip_is_refused(data: bytes, tmp_path: Path) -> None:
    (tmp_path / "a.zip").write_bytes(data)
    assert refusal_of(tmp_path / "a.zip") == ["a.zip:1: (file): is not a folder or a zip file that can be read"]


def test_a_damaged_zip_is_refused(tmp_path: Path) -> None:
    path = write_zip(tmp_path / "a.zip", {"members.csv": AS_BYTES["members.csv"]}, zipfile.ZIP_STORED)
    path.write_bytes(path.read_bytes().replace(b"Ann", b"Bnn"))
    assert refusal_of(path) == ["members.csv:1: (file): cannot be unpacked: the zip file is damaged"]


def test_a_file_that_is_in_the_zip_twice_is_refused(tmp_path: Path) -> None:
    path = write_zip(tmp_path / "a.zip", AS_BYTES)
    with (
        pytest.warns(UserWarning, match="Duplicate name"),
        zipfile.ZipFile(path, "a") as archive,
    ):
        archive.writestr("costs.csv", b"")
    assert refusal_of(path) == ["costs.csv:1: (file): is in the zip file twice"]


def test_a_zip_that_unpacks_to_too_much_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.zip"
    with (
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive,
        archive.open("costs.csv", "w", force_zip64=True) as file,
    ):
        for _ in range(budgets.ARCHIVE_BYTES // 2**20 + 1):
            file.write(b"," * 2**20)
    assert path.stat().st_size < 2**20
    assert refusal_of(path) == ["a.zip:1: (file): holds more than 32 MB; nothing of it was loaded"]


def test_a_folder_that_holds_too_much_is_refused(tmp_path: Path) -> None:
    with (tmp_path / "costs.csv").open("wb") as file:
        file.truncate(budgets.ARCHIVE_BYTES + 1)
    assert refusal_of(tmp_path) == [f"{tmp_path.name}:1: (file): holds more than 32 MB; nothing of it was loaded"]


def test_a_zip_that_lies_about_its_size_is_refused(tmp_path: Path) -> None:
    path = write_zip(tmp_path / "a.zip", {"costs.csv": b"," * 10_000_000})
    true_size, claimed = (10_000_000).to_bytes(4, "little"), (100).to_bytes(4, "little")
    path.write_bytes(path.read_bytes().replace(true_size, claimed))
    assert refusal_of(path) == ["costs.csv:1: (file): cannot be unpacked: the zip file is damaged"]


@pytest.mark.parametrize("how", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_an_unusual_packing_is_refused(how: int, tmp_path: Path) -> None:
    (told,) = refusal_of(write_zip(tmp_path / "a.zip", {"costs.csv": AS_BYTES["costs.csv"]}, how))
    assert told == "costs.csv:1: (file): is packed in an unusual way; zip the folder again in the ordinary way"


def test_a_zip_locked_by_a_password_is_refused(tmp_path: Path) -> None:
    path = write_zip(tmp_path / "a.zip", {"costs.csv": AS_BYTES["costs.csv"]})
    data = bytearray(path.read_bytes())
    data[data.index(b"PK\x01\x02") + 8] |= 1  # the flag in the list of contents that says so
    path.write_bytes(data)
    (told,) = refusal_of(path)
    assert told == "costs.csv:1: (file): is locked by a password; zip the folder again in the ordinary way"


# --- What is beyond its budget ---------------------------------------------------------------------------


def test_a_file_of_more_lines_than_the_book_loads_is_refused(tmp_path: Path) -> None:
    lines = budgets.ARCHIVE_LINES + 1
    files = {"members.csv": b"email\r\n", "costs.csv": b"\r" * 10, "fills.csv": b"ref\n" + b"\n" * (lines - 12)}
    has = f"has {lines:,} lines, and the book loads 180,000 at once at the most; nothing of it was loaded"
    assert refusal_of(write_zip(tmp_path / "a.zip", files)) == [f"a.zip:1: (file): {has}"]


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("ref," + "x" * 60_000, "costs.csv:1"),
        ("ref\n" + "x," * 30_001, "costs.csv:2"),
        ('ref\n"' + "x\n" * 30_001 + '"\n', "costs.csv:30001"),
    ],
)
def test_a_row_that_is_too_long_is_refused(text: str, place: str, tmp_path: Path) -> None:
    (told,) = refusal_of(write_zip(tmp_path / "a.zip", AS_BYTES | {"costs.csv": text.encode()}))
    assert told == f"{place}: (line): belongs to a row of more than 60,000 characters; nothing of the file was loaded"


def test_a_header_of_too_many_columns_is_refused(tmp_path: Path) -> None:
    (told,) = refusal_of(write_zip(tmp_path / "a.zip", AS_BYTES | {"costs.csv": b"ref," * 100 + b"note\n"}))
    assert told == "costs.csv:1: (line): has 101 columns; a file of an archive has 100 at the most"


def test_a_link_is_not_followed(tmp_path: Path) -> None:
    folder = write_archive(tmp_path / "archive")
    (folder / "costs.csv").rename(tmp_path / "elsewhere.csv")
    (folder / "costs.csv").symlink_to(tmp_path / "elsewhere.csv")
    (told,) = refusal_of(folder)
    assert told == "costs.csv:1: (file): is a link to another file; put the file itself there"


def test_the_archive_itself_may_be_a_link(tmp_path: Path) -> None:
    write_archive(tmp_path / "archive")
    (tmp_path / "latest").symlink_to(tmp_path / "archive")
    load(tmp_path / "latest")
    assert is_loaded_whole()


def test_a_link_in_a_zip_is_refused(tmp_path: Path) -> None:
    write_linked_zip(tmp_path / "a.zip")
    (told,) = refusal_of(tmp_path / "a.zip")
    assert told == "costs.csv:1: (file): is a link to another file; put the file itself there"


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "costs.csv")
    (told,) = refusal_of(tmp_path)
    assert told == "costs.csv:1: (file): cannot be read: it is not a plain file"


def test_a_folder_or_zip_of_too_many_files_is_refused(tmp_path: Path) -> None:
    names = [f"{number}.txt" for number in range(budgets.ARCHIVE_FILES + 1)]
    (folder := tmp_path / "many").mkdir()
    for name in names:
        (folder / name).touch()
    assert refusal_of(folder) == ["many:1: (file): holds more than 200 files; nothing of it was loaded"]

    (told,) = refusal_of(write_zip(tmp_path / "a.zip", dict.fromkeys(names, b"")))
    assert told == "a.zip:1: (file): holds more than 200 files; nothing of it was loaded"


def test_a_zip_with_too_long_a_list_of_contents_is_not_opened(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as archive:
        for number in range(budgets.ZIP_LIST_BYTES // 60_000 + 1):
            (info := zipfile.ZipInfo(f"{number}.csv")).comment = b"x" * 60_000
            archive.writestr(info, b"")
    words = "has a list of contents of more than 16 MB; nothing of it was loaded"
    assert refusal_of(tmp_path / "a.zip") == [f"a.zip:1: (file): {words}"]
