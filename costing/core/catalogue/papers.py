"""What may be made as a file away from the page that asks for it: each row is one kind of paper."""

from typing import NamedTuple


class PaperKind(NamedTuple):
    """One kind, and what it is called."""

    name: str
    words: str


PAPER_KINDS = {row.name: row for row in (PaperKind("statement", "Statement"), PaperKind("year", "My year"))}
