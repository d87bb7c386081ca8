"""Small parts of sentences that the mails share."""

from collections.abc import Sequence


def listed(words: Sequence[str]) -> str:
    """Words in a sentence: "service, MOT and insurance"."""
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def begun_small(words: str) -> str:
    """A sentence as part of another: it begins small unless with an abbreviation."""
    return words if words[1:2].isupper() else f"{words[:1].lower()}{words[1:]}"


def and_more(count: int) -> str:
    """The end of a subject that names only the worst: "; and 2 more", or nothing."""
    return f"; and {count} more" if count else ""
