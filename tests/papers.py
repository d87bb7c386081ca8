"""PDFs as garages and insurers send them, and as nobody should, written by hand."""

import zlib


def pdf_of(*objects: bytes, root: int = 1, trailer: bytes = b"") -> bytes:
    """A PDF of these objects, numbered from 1."""
    written, places = b"%PDF-1.7\n", []
    for number, one in enumerate(objects, 1):
        places.append(len(written))
        written += b"%d 0 obj\n%s\nendobj\n" % (number, one)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    start = len(written)
    written += b"xref\n0 %d\n0000000000 65535 f \n%s" % (len(objects) + 1, table)
    return written + b"trailer\n<</Size %d/Root %d 0 R%s>>\nstartxref\n%d\n%%%%EOF\n" % (
        len(objects) + 1, root, trailer, start,
    )  # fmt: skip


def stream(data: bytes, more: bytes = b"") -> bytes:
    """A stream of a PDF, packed."""
    packed = zlib.compress(data)
    return b"<</Length %d/Filter/FlateDecode%s>>\nstream\n%s\nendstream" % (len(packed), more, packed)


def receipt_pdf(
    pages: int = 1,
    *,
    draws: bytes = b"1 0 0 rg 10 10 100 50 re f",
    size: bytes = b"0 0 227 567",
    trailer: bytes = b"",
    resources: bytes = b"",
    more: tuple[bytes, ...] = (),
) -> bytes:
    """A PDF of so many pages, all alike: by default the paper of a till, with a red box at its foot.

    ``more`` are objects from number 4 on, which ``resources`` may name.
    """
    kids = b" ".join([b"4 0 R" if not more else b"%d 0 R" % (4 + len(more))] * pages)
    page = b"<</Type/Page/Parent 2 0 R/MediaBox[%s]/Contents 3 0 R/Resources<<%s>>>>" % (size, resources)
    return pdf_of(
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[%s]/Count %d>>" % (kids, pages),
        stream(draws),
        *more,
        page,
        trailer=trailer,
    )
