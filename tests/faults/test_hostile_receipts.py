"""Two hundred receipts made against the book: each is drawn anew or refused, and none takes the process much.

They are decoded as every upload is, in a process of their own, whose memory the system tells afterwards.
"""

import io
import json
import random
import struct
import subprocess
import sys
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image

from config import budgets
from config.receipts_field import WORDS
from tests.faults.hostile import PICTURES
from tests.papers import pdf_of, receipt_pdf, stream
from tests.pictures import picture_bytes
from tests.processes import ROOT

MOST_MEGABYTES = 300
#: Of work, with the start of a process.
MOST_SECONDS = budgets.PICTURE_SECONDS + 1

#: What an attacker would like to find again in what is kept.
MARK = b"<script>alert(document.domain)</script>"

Upload = Callable[[], bytes]


def _image(data: bytes, filters: bytes, size: tuple[int, int] = (1_000, 1_000)) -> tuple[bytes, ...]:
    """A picture within a PDF, of the bytes and the filter given."""
    head = b"<</Type/XObject/Subtype/Image/Width %d/Height %d/ColorSpace/DeviceRGB/BitsPerComponent 8" % size
    return (head + b"/Filter%s/Length %d>>\nstream\n%s\nendstream" % (filters, len(data), data),)


def _drawing(data: bytes, filters: bytes, size: tuple[int, int] = (1_000, 1_000)) -> bytes:
    resources, draws = b"/XObject<</I 4 0 R>>", b"200 0 0 200 0 0 cm /I Do"
    return receipt_pdf(resources=resources, more=_image(data, filters, size), draws=draws)


def _tiles(width: int) -> bytes:
    tile = stream(b"0 0 1 1 re f", b"/PatternType 1/PaintType 1/TilingType 1/BBox[0 0 1 1]/XStep .001/YStep .001"
                  b"/Resources<<>>")  # fmt: skip
    draws = b"/Pattern cs /P scn 0 0 %d 567 re f" % width
    return receipt_pdf(resources=b"/Pattern<</P 4 0 R>>", more=(tile,), draws=draws)


def _forms_in_forms(depth: int, times: int) -> bytes:
    """Each form draws the next one so many times: a laugh of a billion."""
    form = b"/Type/XObject/Subtype/Form/BBox[0 0 9 9]"
    forms = [stream(b"/F Do " * times, b"%s/Resources<</XObject<</F %d 0 R>>>>" % (form, n + 5)) for n in range(depth)]
    forms.append(stream(b"0 0 1 1 re f", form))
    return receipt_pdf(resources=b"/XObject<</F 4 0 R>>", more=tuple(forms), draws=b"/F Do")


def _tree(kids: bytes) -> bytes:
    first, second = (b"<</Type/Pages/Kids[%s]/Count 2>>" % one for one in (kids, b"2 0 R"))
    return pdf_of(b"<</Type/Catalog/Pages 2 0 R>>", first, second)


def _packed_twice(megabytes: int) -> bytes:
    packing, nothing = zlib.compressobj(), bytes(1_000_000)
    return zlib.compress(b"".join(packing.compress(nothing) for _ in range(megabytes)) + packing.flush())


PAPERS: dict[str, Upload] = {
    "10,000 pages": lambda: receipt_pdf(10_000),
    "a million pages, as it says": lambda: receipt_pdf().replace(b"/Count 1>>", b"/Count 1000000>>"),
    "fewer than none": lambda: receipt_pdf().replace(b"/Count 1>>", b"/Count -1>>"),
    "a page as large as a field": lambda: receipt_pdf(size=b"0 0 1e9 1e9"),
    "a page without a size": lambda: receipt_pdf(size=b"0 0 0 0"),
    "a page turned inside out": lambda: receipt_pdf(size=b"9 9 -9999999999 -9999999999"),
    "a page that is no number": lambda: receipt_pdf(size=b"0 0 nan inf"),
    "a thread of a page": lambda: receipt_pdf(size=b"0 0 .0001 14400"),
    "its own child": lambda: _tree(b"2 0 R"),
    "its child's child": lambda: _tree(b"3 0 R"),
    "forms in forms": lambda: _forms_in_forms(30, 10),
    "a form within itself": lambda: _forms_in_forms(1, 2).replace(b"/F 5 0 R", b"/F 4 0 R"),
    "400 megabytes of nothing": lambda: _drawing(_packed_twice(400), b"[/FlateDecode/FlateDecode]", (12_000, 12_000)),
    "400 megapixels": lambda: _drawing(zlib.compress(bytes(9_000_000)), b"/FlateDecode", (20_000, 20_000)),
    "a picture that says 10 gigapixels": lambda: _drawing(b"x", b"/FlateDecode", (100_000, 100_000)),
    "a picture of another sort": lambda: _drawing(MARK, b"/JPXDecode"),
    "a fax of it": lambda: _drawing(bytes(5_000), b"/CCITTFaxDecode", (60_000, 60_000)),
    "bits of it": lambda: _drawing(bytes(5_000), b"/JBIG2Decode", (60_000, 60_000)),
    "a photo of 50 megapixels": lambda: _drawing(PICTURES["a large progressive JPEG"](), b"/DCTDecode", (8_000, 7_000)),
    "tiles without end": lambda: _tiles(227),
    "a million lines": lambda: receipt_pdf(draws=b"0 0 m 227 567 l S " * 1_000_000),
    "a path of a million points": lambda: receipt_pdf(draws=b"0 0 m " + b"99 9 l 9 99 l " * 500_000 + b"f*"),
    "states in states": lambda: receipt_pdf(draws=b"q " * 1_000_000),
    "blends in blends": lambda: receipt_pdf(
        resources=b"/ExtGState<</G<</BM/Luminosity/ca .5>>>>", draws=b"/G gs 0 0 227 567 re f " * 100_000
    ),
    "lists in lists": lambda: receipt_pdf(draws=b"[" * 1_000_000),
    "names in names": lambda: receipt_pdf(trailer=b"/X" + b"<</X" * 100_000),
    "a script in it": lambda: receipt_pdf().replace(b"/Catalog", b"/Catalog/OpenAction<</S/JavaScript/JS(%s)>>" % MARK),
    "a file in it": lambda: receipt_pdf().replace(b"/Catalog", b"/Catalog/EF<</F (/etc/hostname)>>"),
    "another file behind it": lambda: receipt_pdf() + MARK,
    "another file before it": lambda: MARK + receipt_pdf(),
    "a photo behind it": lambda: receipt_pdf() + picture_bytes(),
    "a font without an end": lambda: receipt_pdf(
        resources=b"/Font<</F<</Type/Font/Subtype/Type0/BaseFont/X/Encoding/Identity-H/DescendantFonts[4 0 R]>>>>",
        more=(b"<</Type/Font/Subtype/CIDFontType2/BaseFont/X/W[0 99999999 1000]/DW 4 0 R>>",),
        draws=b"BT /F 9999 Tf <0041> Tj ET",
    ),
    "a glyph that draws itself": lambda: receipt_pdf(
        resources=b"/Font<</F 4 0 R>>",
        more=(
            b"<</Type/Font/Subtype/Type3/FontBBox[0 0 9 9]/FontMatrix[1 0 0 1 0 0]/FirstChar 65/LastChar 65/Widths[9]"
            b"/Encoding<</Differences[65/A]>>/CharProcs<</A 5 0 R>>/Resources<</Font<</F 4 0 R>>>>>>",
            stream(b"BT /F 9 Tf (A) Tj ET"),
        ),
        draws=b"BT /F 9 Tf (AAAAAAAA) Tj ET",
    ),
    "shades of a formula": lambda: receipt_pdf(
        resources=b"/Shading<</S<</ShadingType 1/ColorSpace/DeviceRGB/Function 4 0 R>>>>",
        more=(b"<</FunctionType 4/Domain[0 1 0 1]/Range[0 1 0 1 0 1]/Length 40>>\nstream\n"
              b"{ 2 copy 999999 exp atan sin 0.5 0.5     }\nendstream",),
        draws=b"227 0 0 567 0 0 cm /S sh",
    ),
}  # fmt: skip


def _foreign() -> dict[str, Upload]:
    """Files that are neither: each names itself a receipt."""
    texts = {
        "a page": b"<!doctype html>" + MARK,
        "a drawing": b'<svg xmlns="http://www.w3.org/2000/svg">' + MARK + b"</svg>",
        "a program": b"#!/bin/sh\nrm -rf /\n",
        "a binary": b"\x7fELF" + bytes(900),
        "an archive": b"PK\3\4" + bytes(900),
        "PostScript": b"%!PS-Adobe-3.0\n{ loop } loop",
        "a film": b"\0\0\0\x20ftypisom" + bytes(900),
        "HEIC": b"\0\0\0\x20ftypheic" + bytes(900),
        "AVIF": b"\0\0\0\x20ftypavif" + bytes(900),
        "an icon": b"\0\0\1\0\1\0" + bytes(900),
        "a start alone": b"\xff\xd8\xff",
        "a head alone": b"%PDF-",
        "RIFF that is no picture": b"RIFF" + struct.pack("<I", 90) + b"WAVE" + bytes(90),
        "spaces": b" " * 1_000_000,
        "nothing": b"",
        "more than may be": bytes(budgets.PICTURE_BYTES + 1),
    }
    kinds = {f"a {kind}": picture_bytes(kind) for kind in ("GIF", "TIFF", "BMP", "PPM", "TGA", "ICO", "EPS", "PCX")}
    return {name: (lambda text=text: text) for name, text in (texts | kinds).items()}


def _polyglots() -> dict[str, Upload]:
    """Pictures with something else within or behind them."""
    said = {"comment": MARK}
    return {
        "a photo with words": lambda: picture_bytes(**said),
        "a photo with a page behind it": lambda: picture_bytes() + MARK,
        "a photo with an archive behind it": lambda: picture_bytes() + b"PK\3\4" + MARK,
        "a photo with a PDF behind it": lambda: picture_bytes() + receipt_pdf(9_999),
        "a PNG with a page behind it": lambda: picture_bytes("PNG") + MARK,
        "a WEBP with a page behind it": lambda: picture_bytes("WEBP") + MARK,
        "a photo with a profile": lambda: picture_bytes(icc_profile=MARK),
        "a photo with a place": lambda: picture_bytes(exif=b"Exif\0\0" + MARK),
    }


def _damaged(count: int) -> Iterator[tuple[str, Upload]]:
    """Honest files with a few bytes changed, the same every time."""
    dice = random.Random("receipts")  # noqa: S311 - nothing is secret here
    whole = [picture_bytes(size=(300, 200)), picture_bytes("PNG", size=(300, 200)), picture_bytes("WEBP"),
             receipt_pdf(2), _drawing(zlib.compress(bytes(3_000_000)), b"/FlateDecode")]  # fmt: skip
    for number in range(count):
        upload = bytearray(whole[number % len(whole)])
        for _ in range(dice.randint(1, 12)):
            upload[dice.randrange(len(upload))] = dice.randrange(256)
        if number % 7 == 0:
            del upload[dice.randrange(len(upload)) :]
        yield f"damaged {number}", lambda made=bytes(upload): made


UPLOADS: dict[str, Upload] = {**PICTURES, **PAPERS, **_foreign(), **_polyglots()}
UPLOADS |= dict(_damaged(200 - len(UPLOADS)))

#: Puts each file named to the book's reader, in a process that has nothing else in its memory, and tells what came of
#: it, the seconds of work that it took, and the most megabytes that any process had by then.
SCRIPT = """
import json, resource, sys
from pathlib import Path
from config.pictures import NotAPicture, as_pages

def spent():
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    own = next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM"))
    # What the system says of this process itself still counts the one that started it.
    return sum(one.ru_utime + one.ru_stime for one in used), max(own, used[1].ru_maxrss) / 1024

for path in map(Path, sys.argv[1:]):
    before, _ = spent()
    try:
        with path.open("rb") as upload:
            jpegs = [jpeg for page in as_pages(upload) for jpeg in page]
        said = ""
    except NotAPicture as refusal:
        jpegs, said = [], type(refusal).__name__
    for number, jpeg in enumerate(jpegs):
        path.with_suffix(f".{number}.jpg").write_bytes(jpeg)
    after, peak = spent()
    print(json.dumps([said, len(jpegs), after - before, peak]), flush=True)
"""

REFUSALS = {refusal.__name__ for refusal in WORDS}

pytestmark = pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="this system does not tell")


def test_there_are_two_hundred() -> None:
    assert len(UPLOADS) == 200


@pytest.mark.parametrize("share", range(4))
def test_each_is_drawn_anew_or_refused(share: int, tmp_path: Path) -> None:
    uploads = dict(list(UPLOADS.items())[share::4])
    paths = [tmp_path / str(number) for number in range(len(uploads))]
    for path, upload in zip(paths, uploads.values(), strict=True):
        path.write_bytes(upload())
    ran = subprocess.run(
        [sys.executable, "-c", SCRIPT, *map(str, paths)], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stderr
    answers = [json.loads(line) for line in ran.stdout.splitlines()]
    for name, path, (said, count, seconds, peak) in zip(uploads, paths, answers, strict=True):
        assert peak < MOST_MEGABYTES, f"{name}: {peak:.0f} MB"  # or the one before it
        assert seconds < MOST_SECONDS, f"{name}: {seconds:.1f} s"
        assert said in REFUSALS if said else 2 <= count <= 2 * budgets.PDF_PAGES, f"{name}: {said}"
        for number in range(count):
            _check_kept(path.with_suffix(f".{number}.jpg").read_bytes(), path.read_bytes(), name)


def _check_kept(jpeg: bytes, upload: bytes, name: str) -> None:
    assert jpeg not in upload, name
    assert MARK not in jpeg, name
    assert len(jpeg) <= budgets.RECEIPT_BYTES, name
    with Image.open(io.BytesIO(jpeg)) as picture:
        assert (picture.format, max(picture.size) <= budgets.PICTURE_SIDE + 1) == ("JPEG", True), name
        assert {"exif", "comment", "xmp", "icc_profile"}.isdisjoint(picture.info), name
