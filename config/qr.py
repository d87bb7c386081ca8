"""QR codes as drawings: black on white, for a screen and for paper."""

from dataclasses import dataclass

#: A quarter of the squares may be scratched, dirty or bent away and the code still reads (ISO/IEC 18004, level Q).
_ERROR_CORRECTION = "q"
#: The white margin that the standard asks for, in squares of the code.
_QUIET = 4


@dataclass(frozen=True)
class Code:
    """A QR code: what it says, the side of its drawing in squares, and the path of its dark ones."""

    text: str
    side: int
    path: str


def code_of(text: str) -> Code:
    """Return the smallest code that says ``text``. Raises segno.DataOverflowError beyond some 1,600 characters."""
    import segno  # few pages show a code, and every command would wait for it

    made = segno.make_qr(text, error=_ERROR_CORRECTION)
    rows = [bytes(row) for row in made.matrix]
    path = "".join(
        f"M{first + _QUIET} {top + _QUIET}h{last - first}v1h{first - last}z"
        for top, row in enumerate(rows)
        for first, last in _runs(row)
    )
    return Code(text, len(rows) + 2 * _QUIET, path)


def _runs(row: bytes) -> list[tuple[int, int]]:
    """Return where each run of dark squares begins and ends: drawn as one, no gap shows between them."""
    edges = [at for at in range(len(row) + 1) if (row[at : at + 1] == b"\1") != (at > 0 and row[at - 1] == 1)]
    return list(zip(edges[::2], edges[1::2], strict=True))
