"""What may be made as a file away from the page that asks for it: each row is one kind of paper."""

from typing import NamedTuple


class PaperKind(NamedTuple):
    """One kind: what it is called, how its file's name ends, and whether a member has one of them at most.

    What ``goes_by_role`` tells a coordinator more than others.
    """

    name: str
    words: str
    suffix: str = ".pdf"
    is_single: bool = False
    goes_by_role: bool = False


_ALL = (
    PaperKind("statement", "Statement"),
    PaperKind("year", "My year"),
    # The list of the board, of whichever cars whoever asks may see.
    PaperKind("cars", "Cars", goes_by_role=True),
    # All that the book holds of a member: it is large.
    PaperKind("export", "All my records", ".zip", is_single=True),
)
PAPER_KINDS = {row.name: row for row in _ALL}
