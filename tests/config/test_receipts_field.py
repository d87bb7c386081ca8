"""What becomes of a receipt that is sent: plain JPEGs of our own making, one a page, or a plain sentence."""

import io

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from config import budgets
from config.pictures import NotAPicture, as_kept_page, as_pages
from config.receipts_field import ReceiptsField
from tests.papers import pdf_of, receipt_pdf
from tests.pictures import picture_bytes

CANNOT_BE_READ = "This cannot be read as a receipt: send a JPEG or PNG picture, or a PDF."
CANNOT_BE_DRAWN = "This PDF cannot be drawn: it is damaged or too heavy. Send a photo of it."


def opened(jpeg: bytes) -> Image.Image:
    return Image.open(io.BytesIO(jpeg))


def sent(*uploads: bytes, name: str = "paper.exe", kind: str = "text/html") -> list[SimpleUploadedFile]:
    return [SimpleUploadedFile(name, upload, kind) for upload in uploads]


def refusal_of(*uploads: bytes) -> list[str]:
    with pytest.raises(ValidationError) as refusal:
        ReceiptsField().clean(sent(*uploads))
    return refusal.value.messages


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_picture_is_one_page_whatever_its_name_says(kind: str) -> None:
    (page,) = ReceiptsField().clean(sent(picture_bytes(kind, size=(800, 400))))
    assert (opened(page.picture).format, opened(page.picture).size) == ("JPEG", (800, 400))
    assert (opened(page.thumbnail).format, opened(page.thumbnail).size) == ("JPEG", (320, 160))


def test_each_page_of_a_pdf_is_drawn() -> None:
    pages = ReceiptsField().clean(sent(receipt_pdf(3)))
    assert len(pages) == 3
    drawn = opened(pages[0].picture)
    assert drawn.height == 1575  # of 567 points at 200 dots to an inch
    red, green, blue = drawn.getpixel((150, 1450))
    assert red > 200 > 60 > max(green, blue)
    assert max(opened(pages[0].thumbnail).size) == budgets.THUMBNAIL_SIDE


def test_files_keep_their_order_and_nothing_of_them_is_kept() -> None:
    upload = picture_bytes(comment=b"hidden words")
    first, second = ReceiptsField().clean(sent(upload, receipt_pdf() + b"% hidden words"))
    assert opened(first.picture).size == (40, 20)
    assert opened(second.picture).height == 1575
    for page in (first, second):
        assert b"hidden words" not in page.picture + page.thumbnail


def test_a_pdf_may_begin_with_other_bytes() -> None:
    assert len(as_pages(io.BytesIO(b"\n" * 100 + receipt_pdf()))) == 1


@pytest.mark.parametrize("size", [b"0 0 14400 14400", b"0 0 2000000 10", b"0 0 1 300000", b"0 0 3 3"])
def test_no_page_is_larger_than_a_picture_of_the_book(size: bytes) -> None:
    (page,) = ReceiptsField().clean(sent(receipt_pdf(size=size)))
    assert max(opened(page.picture).size) <= budgets.PICTURE_SIDE + 1


def locked_pdf() -> bytes:
    """A PDF that needs a password, by the oldest of the ciphers."""
    key = b"/Encrypt<</Filter/Standard/V 1/R 2/P -4/O<%s>/U<%s>>>/ID[<00><00>]" % (b"41" * 32, b"42" * 32)
    return receipt_pdf(trailer=key)


@pytest.mark.parametrize(
    ("upload", "words"),
    [
        pytest.param(b"Paid with thanks.", CANNOT_BE_READ, id="text"),
        pytest.param(picture_bytes("GIF"), CANNOT_BE_READ, id="GIF"),
        pytest.param(picture_bytes("TIFF"), CANNOT_BE_READ, id="TIFF"),
        pytest.param(b"<html><script>alert(1)</script>", CANNOT_BE_READ, id="a page"),
        pytest.param(picture_bytes()[:-300], CANNOT_BE_READ, id="truncated JPEG"),
        pytest.param(b"", "This file is empty.", id="nothing"),
        pytest.param(b"\0\0\0\x18ftypheic" + bytes(99), "This picture is in the HEIC format", id="HEIC"),
        pytest.param(bytes(budgets.PICTURE_BYTES + 1), "This file is too large. Send one of at most 15 MB", id="large"),
        pytest.param(receipt_pdf()[:200], CANNOT_BE_DRAWN, id="truncated PDF"),
        pytest.param(b"%PDF-1.7 and no more", CANNOT_BE_DRAWN, id="no PDF"),
        pytest.param(receipt_pdf(0), CANNOT_BE_DRAWN, id="no page"),
        pytest.param(receipt_pdf(10_000), "This PDF has more than 8 pages.", id="10,000 pages"),
        pytest.param(receipt_pdf(9), "This PDF has more than 8 pages.", id="9 pages"),
        pytest.param(locked_pdf(), "This PDF is locked with a password.", id="locked"),
        pytest.param(pdf_of(b"<</Type/Catalog/Pages 1 0 R/Kids[1 0 R]/Count 1>>"), CANNOT_BE_DRAWN, id="its own page"),
    ],
)  # fmt: skip
def test_what_is_no_receipt_is_refused_with_a_sentence(upload: bytes, words: str) -> None:
    (said,) = refusal_of(upload)
    assert said.startswith(words)


def test_of_several_each_refusal_says_of_which() -> None:
    said = refusal_of(picture_bytes(), b"Paid with thanks.", receipt_pdf(9))
    assert [words.partition(":")[0] for words in said] == ["File 2", "File 3"]


def test_no_more_files_than_that_are_taken_at_once() -> None:
    assert refusal_of(*[b"x"] * 5) == ["Send at most 4 files at once."]


def test_none_is_fine_unless_it_is_needed() -> None:
    assert ReceiptsField().clean([]) == ()
    with pytest.raises(ValidationError, match="Choose a photo or a PDF"):
        ReceiptsField(required=True).clean([])


# --- A page that comes back from an archive --------------------------------------------------------------


def kept(**options: object) -> bytes:
    return as_pages(io.BytesIO(picture_bytes(size=(64, 48), **options)))[0].picture


def test_a_page_comes_back_as_it_was_kept() -> None:
    back = as_kept_page(kept())
    assert back.picture == kept()
    assert opened(back.thumbnail).size == (64, 48)


def with_segment(marker: int, words: bytes) -> bytes:
    made = kept()
    return made[:2] + bytes([0xFF, marker]) + (len(words) + 2).to_bytes(2, "big") + words + made[2:]


@pytest.mark.parametrize(
    "jpeg",
    [
        pytest.param(lambda: with_segment(0xFE, b"words"), id="a comment"),
        pytest.param(lambda: with_segment(0xE1, b"Exif\0\0"), id="metadata"),
        pytest.param(lambda: with_segment(0xE0, b"JFIF\0" + bytes(90)), id="a preview"),
        pytest.param(lambda: kept() + b"more", id="more after its end"),
        pytest.param(lambda: kept()[:-2], id="no end"),
        pytest.param(lambda: b"", id="nothing"),
        pytest.param(lambda: picture_bytes("PNG"), id="PNG"),
        pytest.param(lambda: picture_bytes(progressive=True), id="several scans"),
        pytest.param(lambda: picture_bytes(size=(2_000, 10)), id="too long"),
        pytest.param(lambda: b"\xff\xd8" + receipt_pdf(), id="PDF"),
    ],
)
def test_what_the_book_did_not_write_does_not_come_back(jpeg: object) -> None:
    with pytest.raises(NotAPicture):
        as_kept_page(jpeg())  # type: ignore[operator]


@given(at=st.integers(2, 400), noise=st.binary(min_size=1, max_size=8))
@settings(max_examples=25)
def test_what_comes_back_with_a_damage_holds_no_words(at: int, noise: bytes) -> None:
    whole = kept()
    damaged = whole[:at] + noise + whole[at + len(noise) :]
    try:
        back = as_kept_page(damaged)
    except NotAPicture:
        return
    info = opened(back.picture).info
    assert {"exif", "comment", "xmp", "icc_profile"}.isdisjoint(info)
