"""What becomes of uploaded pictures: a plain JPEG of our own making, or a plain refusal."""

import contextlib
import io
import struct
import subprocess
import sys
import zlib
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from hypothesis import given
from hypothesis import strategies as st
from PIL import ExifTags, Image

from config import budgets, decoding
from config.fields import PhotoField
from config.pictures import NotAPicture, TooManyPixels, as_jpeg
from tests.pictures import picture_bytes

CANNOT_BE_READ = "This cannot be read as a photo: send a JPEG or PNG picture."


def opened(jpeg: bytes) -> Image.Image:
    return Image.open(io.BytesIO(jpeg))


def made_here(upload: bytes) -> bytes:
    """The same without a process of its own: for those that are tried by the hundred."""
    most_pixels = {"JPEG": budgets.JPEG_PIXELS, **budgets.OTHER_PIXELS}
    return decoding.decode(io.BytesIO(upload), most_pixels=most_pixels, side=budgets.PICTURE_SIDE)


def made_of(upload: bytes) -> Image.Image:
    return opened(as_jpeg(io.BytesIO(upload)))


def exif(**tags: Any) -> Image.Exif:
    """Exif with the tags named, and where the phone was when it took the picture."""
    written = Image.Exif()
    for name, value in tags.items():
        written[ExifTags.Base[name]] = value
    place = {ExifTags.GPS.GPSLatitudeRef: "N", ExifTags.GPS.GPSLatitude: (51.0, 30.0, 0.0)}
    written.get_ifd(ExifTags.IFD.GPSInfo).update(place)
    return written


def huge_png(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it is of so many pixels."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


def test_place_maker_and_time_are_gone() -> None:
    told = exif(Make="Some phone", DateTime="2026:03:16 08:00:00", Artist="Wren Applegarth")
    upload = picture_bytes(exif=told, comment=b"hidden words")
    assert b"Wren Applegarth" in upload
    assert opened(upload).getexif().get_ifd(ExifTags.IFD.GPSInfo)
    jpeg = as_jpeg(io.BytesIO(upload))
    assert not opened(jpeg).getexif()
    assert {"exif", "comment", "xmp", "icc_profile"}.isdisjoint(opened(jpeg).info)
    assert b"Wren Applegarth" not in jpeg
    assert b"hidden words" not in jpeg


def test_a_picture_taken_with_the_phone_on_its_side_is_put_upright() -> None:
    upright = made_of(picture_bytes(exif=exif(Orientation=6)))  # to be turned a quarter to the right
    assert upright.size == (20, 40)
    red, _, blue = upright.getpixel((10, 5))  # what was left is now on top
    assert red > 200 > 60 > blue


def of_pixels(kind: str, pixels: int, **options: Any) -> bytes:
    """A picture of that format with so many pixels, a few more at the most."""
    written = io.BytesIO()
    Image.new("RGB", (4_000, -(-pixels // 4_000))).save(written, kind, **options)
    return written.getvalue()


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="this system does not tell")
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_large_picture_takes_little_memory(kind: str, tmp_path: Path) -> None:
    """50 megapixels are 150 MB before anything is done with them; a small server has not many of those."""
    photo = tmp_path / "photo"
    photo.write_bytes(of_pixels(kind, {"JPEG": 50_000_000, **budgets.OTHER_PIXELS}[kind]))
    decode = "from config import budgets, decoding; decoding.decode(open(sys.argv[1], 'rb'), most_pixels="
    decode += "{'JPEG': budgets.JPEG_PIXELS, **budgets.OTHER_PIXELS}, side=1600)"
    code = f"import sys; {decode}; print(open('/proc/self/status').read())"
    ran = subprocess.run([sys.executable, "-c", code, photo], capture_output=True, check=True, text=True)
    [most] = [int(line.split()[1]) for line in ran.stdout.splitlines() if line.startswith("VmHWM:")]
    assert most < 280 * 1024  # kilobytes, the interpreter and the task queue's library included


@pytest.mark.parametrize(
    ("kind", "pixels"), [("JPEG", 50_000_000), ("PNG", 1_440 * 3_200), ("PNG", 2_732 * 2_048), ("WEBP", 8_000_000)]
)
def test_what_a_phone_or_a_tablet_makes_is_taken(kind: str, pixels: int) -> None:
    assert made_of(of_pixels(kind, pixels)).format == "JPEG"


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_more_pixels_than_that_are_refused_with_the_most_there_may_be(kind: str) -> None:
    most = {"JPEG": budgets.JPEG_PIXELS, **budgets.OTHER_PIXELS}[kind]
    upload = of_pixels(kind, most + 4_000)
    with pytest.raises(TooManyPixels):
        as_jpeg(io.BytesIO(upload))
    with pytest.raises(ValidationError, match="at most 60 million for a JPEG photo, 16 million for a PNG picture"):
        PhotoField().clean(SimpleUploadedFile("photo", upload))


@pytest.mark.parametrize("options", [{"progressive": True}, {"progressive": True, "subsampling": 0}])
def test_a_progressive_photo_of_a_camera_is_taken(options: dict[str, Any]) -> None:
    assert made_of(of_pixels("JPEG", 24_000_000, **options)).format == "JPEG"


def test_the_decoder_is_told_no_secret(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A picture that breaks the decoder itself finds neither the book's settings nor its modules there."""
    script = tmp_path / "decoding.py"
    script.write_text("import os, sys; print(dict(os.environ), sys.path, file=sys.stderr); sys.exit(1)")
    monkeypatch.setattr("config.pictures._SCRIPT", script)
    with pytest.raises(NotAPicture) as refusal:
        as_jpeg(io.BytesIO(picture_bytes()))
    assert "DATABASE" not in str(refusal.value)
    assert "SECRET" not in str(refusal.value)
    assert str(Path(decoding.__file__).parent) not in str(refusal.value)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_what_phones_make_becomes_a_jpeg(kind: str) -> None:
    clean = made_of(picture_bytes(kind))
    assert (clean.format, clean.mode, clean.size) == ("JPEG", "RGB", (40, 20))


@pytest.mark.parametrize("mode", ["RGBA", "LA", "P", "L", "1", "I;16"])
def test_colours_of_any_kind_are_taken(mode: str) -> None:
    written = io.BytesIO()
    Image.new(mode, (8, 8)).save(written, "PNG")
    assert made_of(written.getvalue()).mode == "RGB"


@given(width=st.integers(1, 5000), height=st.integers(1, 300))
def test_no_side_is_longer_than_the_longest_and_none_grows(width: int, height: int) -> None:
    clean = opened(made_here(picture_bytes(size=(width, height))))
    assert max(clean.size) == min(max(width, height), budgets.PICTURE_SIDE)
    assert clean.width <= width
    assert clean.height <= height


@pytest.mark.parametrize(
    "upload",
    [
        pytest.param(b"Brake pads worn, see to them.", id="text"),
        pytest.param(b"", id="nothing"),
        pytest.param(picture_bytes(size=(400, 400))[:-400], id="truncated JPEG"),
        pytest.param(picture_bytes("PNG", size=(400, 400))[:200], id="truncated PNG"),
        pytest.param(picture_bytes("GIF"), id="GIF"),
        pytest.param(picture_bytes("TIFF"), id="TIFF"),
        pytest.param(b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>', id="SVG"),
        pytest.param(huge_png(50_000, 50_000), id="bomb"),
        pytest.param(huge_png(8_000, 8_000), id="more pixels than a camera has"),
    ],
)
def test_what_is_no_picture_is_refused(upload: bytes) -> None:
    with pytest.raises(NotAPicture):
        as_jpeg(io.BytesIO(upload))


@pytest.mark.parametrize("upload", [b"Brake pads worn.", picture_bytes()[:-300]])
def test_a_form_says_so_plainly(upload: bytes) -> None:
    with pytest.raises(ValidationError) as refusal:
        PhotoField().clean(SimpleUploadedFile("photo.jpg", upload))
    assert refusal.value.messages == [CANNOT_BE_READ]


@given(noise=st.binary(max_size=60), at=st.integers(0, 600))
def test_a_damaged_picture_is_taken_or_refused_and_nothing_else_happens(noise: bytes, at: int) -> None:
    whole = picture_bytes()
    damaged = whole[:at] + noise + whole[at + len(noise) :]
    with contextlib.suppress(Exception):  # whatever it is, it ends the process that decodes
        assert opened(made_here(damaged)).format == "JPEG"


def test_a_form_takes_up_to_15_mb() -> None:
    padding = b"\0" * (budgets.PICTURE_BYTES - len(picture_bytes()))
    assert PhotoField().clean(SimpleUploadedFile("photo.jpg", picture_bytes() + padding))
    with pytest.raises(ValidationError, match=r"This picture is too large. Send one of at most 15 MB\."):
        PhotoField().clean(SimpleUploadedFile("photo.jpg", picture_bytes() + padding + b"\0"))


def test_no_picture_is_none_and_an_empty_file_is_refused() -> None:
    assert PhotoField().clean(None) is None
    with pytest.raises(ValidationError, match="empty"):
        PhotoField().clean(SimpleUploadedFile("photo.jpg", b""))
