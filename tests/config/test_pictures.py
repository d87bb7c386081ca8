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

from config.fields import PhotoField
from config.pictures import LONGEST_SIDE, NotAPicture, as_jpeg
from tests.pictures import picture_bytes

CANNOT_BE_READ = "This cannot be read as a photo: send a JPEG or PNG picture."


def opened(jpeg: bytes) -> Image.Image:
    return Image.open(io.BytesIO(jpeg))


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


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="this system does not tell")
def test_a_large_photo_takes_little_memory(tmp_path: Path) -> None:
    """50 megapixels are 150 MB before anything is done with them; a small server has not many of those."""
    photo = tmp_path / "photo.jpg"
    Image.new("RGB", (8160, 6120)).save(photo)
    make = "from config.pictures import as_jpeg; as_jpeg(open(sys.argv[1], 'rb'))"
    code = f"import sys; {make}; print(open('/proc/self/status').read())"
    ran = subprocess.run([sys.executable, "-c", code, photo], capture_output=True, check=True, text=True)
    [most] = [int(line.split()[1]) for line in ran.stdout.splitlines() if line.startswith("VmHWM:")]
    assert most < 250 * 1024  # kilobytes, the interpreter included


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
    clean = made_of(picture_bytes(size=(width, height)))
    assert max(clean.size) == min(max(width, height), LONGEST_SIDE)
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


@pytest.mark.parametrize("upload", [b"Brake pads worn.", picture_bytes()[:-300], huge_png(50_000, 50_000)])
def test_a_form_says_so_plainly(upload: bytes) -> None:
    with pytest.raises(ValidationError) as refusal:
        PhotoField().clean(SimpleUploadedFile("photo.jpg", upload))
    assert refusal.value.messages == [CANNOT_BE_READ]


@given(noise=st.binary(max_size=60), at=st.integers(0, 600))
def test_a_damaged_picture_is_taken_or_refused_and_nothing_else_happens(noise: bytes, at: int) -> None:
    whole = picture_bytes()
    damaged = whole[:at] + noise + whole[at + len(noise) :]
    with contextlib.suppress(NotAPicture):
        assert opened(as_jpeg(io.BytesIO(damaged))).format == "JPEG"


def test_a_form_takes_up_to_15_mb() -> None:
    padding = b"\0" * (PhotoField.MOST_BYTES - len(picture_bytes()))
    assert PhotoField().clean(SimpleUploadedFile("photo.jpg", picture_bytes() + padding))
    with pytest.raises(ValidationError, match=r"This picture is too large: at most 15 MB\."):
        PhotoField().clean(SimpleUploadedFile("photo.jpg", picture_bytes() + padding + b"\0"))


def test_no_picture_is_none_and_an_empty_file_is_refused() -> None:
    assert PhotoField().clean(None) is None
    with pytest.raises(ValidationError, match="empty"):
        PhotoField().clean(SimpleUploadedFile("photo.jpg", b""))
