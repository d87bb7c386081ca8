"""What may be made as a file away from the page that asks for it: each row is one kind of paper."""

from typing import NamedTuple


class PaperKind(NamedTuple):
    """One kind. ``step`` is what its progress is counted in while its figures are put together."""

    name: str
    words: str
    step: str


PAPER_KINDS = {
    row.name: row
    for row in (
        PaperKind("statement", "Statement", "month"),
        PaperKind("year", "My year", "month"),
    )
}
