"""Files made to take a reader's time or memory, a few bytes or a few megabytes each."""

import io
import os
import struct
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

from PIL import Image

from tests.costing.archive_sample import SAMPLE, cells
from tests.costing.offers_sample import SAMPLE as OFFERS

_USE = OFFERS.partition("[running]")[0]
_STAYING = "".join(line for line in OFFERS.splitlines(keepends=True) if not line.startswith("leaving"))

#: By what is wrong with it, an offers file and a part of what is said of it.
OFFERS_FILES: dict[str, tuple[str, str]] = {
    "a deep dotted key": (".".join("a" * 40_000) + "=1", "this line has more than"),
    "many dotted keys": ("\n".join(".".join([f"k{n}", *"a" * 900]) + "=1" for n in range(100)), "a key has more than"),
    "dotted keys in a row": ("x = {" + ",".join(f"{'a.' * 5}k{n}=1" for n in range(100)) + "}", "a key has more than"),
    "a deep header": (f"[{'.'.join('a' * 900)}]", "a key has more than"),
    "lists in lists": ("x = " + "[\n" * 5_000 + "]\n" * 5_000, "brackets are nested"),
    "tables in tables": ("x = " + "{a=" * 400 + "1" + "}" * 400, "brackets are nested"),
    "a huge power of ten": (OFFERS.replace("21450.00", "1e99999999"), "too large a power of ten"),
    "a power in capitals": (OFFERS.replace("21450.00", "-1_0E+9_99"), "too large a power of ten"),
    "a number of many digits": (OFFERS.replace("months = 36", f"months = {'9' * 1_900}"), "more than 40 characters"),
    "many decimals": (OFFERS.replace("0.28", f"0.{'1' * 1_900}"), "more than 40 characters"),
    "hexadecimals": (OFFERS.replace("months = 36", f"months = 0x{'f' * 1_900}"), "more than 40 characters"),
    "4,000 what-ifs": (OFFERS + '[[what_if]]\nname = "x"\nleave_at_month = 9\n' * 4_000, "there are 4,002"),
    "a thousand offers": (_USE + '[[offer]]\nname = "x"\nkind = "owned"\nprice = 1.0\n' * 1_000, "there are 1,000"),
    "a thousand ranges": (OFFERS + '[[uncertain]]\ninput = "damage"\n' * 1_000, "there are 1,002"),
    "20,000 unknown keys": (_USE + "".join(f"k{n}=1\n" for n in range(20_000)), "and 19,901 more"),
    "keys that no line tells": ("".join(f'"\\u0061{n}"=1\n' for n in range(12_000)), "more"),
    "blanks after a bracket": ("x = [\n" + (" " * 1_900 + "[" + " " * 90 + "\n1],\n") * 90 + "]", "x: is not known"),
    "a list of thousands": (OFFERS.replace("[1260.00, 1085.00, 940.00]", "[" + "1,\n" * 50_000 + "]"), "50,000 years"),
    "thousands of fuels": (
        OFFERS.replace("{ mpg = 52.0, pence_per_litre = 146.5 }", "[" + "{ mpg = 9 },\n" * 9_000 + "]"), "a list of two"
    ),
    "thousands of chances": (
        _STAYING.replace("[running]", "leaving = [" + "{ month = 7, chance = 0 },\n" * 4_000 + "]\n[running]"),
        "has 4,000 months",
    ),
    "thousands of keys of one's own": (OFFERS.replace("  [offer.running]", "  [offer.running]\n" + "".join(
        f"  k{n} = 1\n" for n in range(9_000))), "and 8,900 more"),
    "a range of thousands": (
        OFFERS.replace("{ low = 180.00, ", "{ low = 180.00, " + "".join(f"k{n}=1," for n in range(150))),
        "must be written like { low",
    ),
    "quotes never closed": ('x = "' + '""""' * 40_000, "more than 2,000 characters"),
    "escapes": ('x = """' + "\\\"\n" * 60_000, "this isn’t TOML"),
    "half a megabyte": ("#" * 500_000, "too large for an offers file"),
}  # fmt: skip


def _rows(header: str, row: Callable[[int], str], count: int) -> str:
    return header + "\n" + "".join(row(number) + "\n" for number in range(count))


_FILL = "ref,registration,member_email,filled_on,odometer,quantity,unit,amount"

#: By what is wrong with it, the files of an archive and a part of what is said of it.
ARCHIVES: dict[str, tuple[Callable[[], dict[str, str]], str]] = {
    "a million columns": (lambda: {"fills.csv": ",".join("a" * 1_000_000) + "\n"}, "row of more than 60,000"),
    "20,000 columns": (lambda: {"fills.csv": ",".join("a" * 20_000) + "\n"}, "has 20,000 columns"),
    "a column of lines": (lambda: {"fills.csv": '"\n",' * 1_000_000}, "has 1,000,000 lines"),
    "two million short rows": (lambda: {"fills.csv": "ref\n" + "a\n" * 2_000_000}, "has 2,000,001 lines"),
    "rows that end the old way": (lambda: {"fills.csv": "ref\r" + "a\r" * 2_000_000}, "has 2,000,001 lines"),
    "a cell of megabytes": (lambda: {"costs.csv": 'ref\n"' + "x" * 3_000_000 + '"\n'}, "row of more than"),
    "a cell of many lines": (lambda: {"costs.csv": 'ref\n"' + "x\n" * 100_000 + '"\n'}, "row of more than"),
    "noughts before a number": (
        lambda: cells("dues.csv", {"due_miles": "0" * 5_000 + "1"}), "dues.csv:2: due_miles: ",
    ),
    "30,000 names": (
        lambda: SAMPLE | {"checks.csv": _rows(
            "ref,registration,member_email,checked_on,points",
            lambda n: f"c{n},QA51ABC,ann@book.example,2026-01-08,{' '.join(f'{m:x}' for m in range(9_000))}", 60,
        )}, "is no point",
    ),
    "faults without end": (lambda: {"fills.csv": _rows(_FILL, lambda n: "?,?,?,?,?,?,?,?", 60_000)}, " more"),
    "32 MB of nothing": (lambda: {"fills.csv": " " * 33_000_000}, "holds more than 32 MB"),
}  # fmt: skip


def write_crowded_zip(path: Path) -> None:
    """A zip whose list of contents, of 15 MB, names one and the same empty file again and again."""
    local = struct.pack("<4s5H3I2H", b"PK\3\4", 20, 0, 0, 0, 33, 0, 0, 0, 1, 0) + b"a"
    entry = struct.pack("<4s6H3I5H2I", b"PK\1\2", 20, 20, 0, 0, 0, 33, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0) + b"a"
    count = 15_000_000 // len(entry)
    end = struct.pack("<4s4H2IH", b"PK\5\6", 0, 0, 0xFFFF, 0xFFFF, count * len(entry), len(local), 0)
    path.write_bytes(local + entry * count + end)


def write_bomb(path: Path) -> None:
    """A zip of 30 kB that unpacks to 33 MB."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("costs.csv", b"," * 33_000_000)


def write_linked_zip(path: Path) -> None:
    """A zip in which one file is a link to a file of the machine."""
    with zipfile.ZipFile(path, "w") as archive:
        link = zipfile.ZipInfo("costs.csv")
        link.external_attr = 0o120777 << 16
        archive.writestr(link, "/etc/hostname")


def write_folder_of_specials(folder: Path) -> None:
    """A folder with a link, a pipe and a folder where files belong."""
    folder.mkdir()
    (folder / "secret").write_text("email,name\n")
    (folder / "members.csv").symlink_to(folder / "secret")
    (folder / "cars.csv").symlink_to("/dev/zero")
    os.mkfifo(folder / "costs.csv")
    (folder / "fills.csv").mkdir()


# --- Pictures ------------------------------------------------------------------------------------------


def _encoded(picture: Image.Image, kind: str, **options: object) -> bytes:
    written = io.BytesIO()
    picture.save(written, kind, **options)
    return written.getvalue()


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def _png(*chunks: bytes, size: tuple[int, int] = (8, 8)) -> bytes:
    header = _chunk(b"IHDR", struct.pack(">IIBBBBB", *size, 8, 2, 0, 0, 0))
    pixels = _chunk(b"IDAT", zlib.compress(bytes((size[0] * 3 + 1) * size[1])))
    return b"\x89PNG\r\n\x1a\n" + header + b"".join(chunks) + pixels + _chunk(b"IEND", b"")


def _exif_of_many_tags(area: int) -> bytes:
    """Exif of 60,000 tags, each of which claims one and the same ``area`` bytes: read out, hundreds of gigabytes."""
    count = 60_000
    start = 10 + 12 * count
    tags = b"".join(struct.pack("<HHII", tag, 7, area, start) for tag in range(count))
    return b"II*\0\x08\0\0\0" + struct.pack("<H", count) + tags + bytes(area + 4)


def _jpeg_with_exif(exif: bytes) -> bytes:
    """A small JPEG with Exif in as many segments as it takes."""
    parts = [exif[at : at + 65_000] for at in range(0, len(exif), 65_000)]
    segments = b"".join(b"\xff\xe1" + struct.pack(">H", len(part) + 8) + b"Exif\0\0" + part for part in parts)
    return b"\xff\xd8" + segments + _encoded(Image.new("RGB", (8, 8)), "JPEG")[2:]


def _jpeg_of_many_scans() -> bytes:
    """A progressive JPEG of 24 megapixels that refines every pixel 3,000 times."""
    jpeg = _encoded(Image.new("RGB", (6_000, 4_000)), "JPEG", progressive=True)
    last = jpeg.rindex(b"\xff\xda")
    return jpeg[:last] + jpeg[last:-2] * 3_000 + b"\xff\xd9"


def _text_bomb() -> bytes:
    bomb = zlib.compress(bytes(50_000_000))
    return _png(*[_chunk(b"zTXt", b"a%d\0\0" % number + bomb) for number in range(20)])


#: By name, a picture that may be refused or taken, but must not cost much.
PICTURES: dict[str, Callable[[], bytes]] = {
    "a PNG of 58 megapixels": lambda: _png(size=(8_000, 7_300)),
    "a PNG of 16 megapixels": lambda: _encoded(Image.new("RGBA", (4_000, 4_000)), "PNG"),
    "a WEBP of 15 megapixels": lambda: _encoded(Image.new("RGB", (5_000, 3_000)), "WEBP", method=0),
    "a long JPEG": lambda: _encoded(Image.new("RGB", (60_000, 990)), "JPEG"),
    "a large progressive JPEG": lambda: _encoded(
        Image.new("RGB", (8_000, 7_000)), "JPEG", progressive=True, subsampling=0
    ),
    "a JPEG of many scans": _jpeg_of_many_scans,
    "a JPEG of many tags": lambda: _jpeg_with_exif(_exif_of_many_tags(5_000_000)),
    "a PNG of many tags": lambda: _png(_chunk(b"eXIf", _exif_of_many_tags(5_000_000))),
    "a PNG of long texts": _text_bomb,
    "a PNG whose colours unpack": lambda: _png(_chunk(b"iCCP", b"a\0\0" + zlib.compress(bytes(200_000_000)))),
    "an animated WEBP": lambda: _encoded(
        Image.new("RGB", (2_000, 2_000)), "WEBP", save_all=True, method=0,
        append_images=[Image.new("RGB", (2_000, 2_000), (n, 0, 0)) for n in range(1, 4)],
    ),
}  # fmt: skip
