"""An offers file measured before it is read as TOML, whose reader takes minutes over what was made for that.

Words are not understood here, only told from strings and remarks; what is no TOML is left for its reader to say.
"""

import re
from collections.abc import Iterator

from config import budgets

#: Possessive throughout: whatever the text, each character is looked at once.
_TOKEN = re.compile(
    r"""
    (?P<remark> \#[^\n]*+ )
    | (?P<string> \"{3} (?: [^\"\\] | \\. | \"(?!\"\") )*+ (?:\"{3,5})?+
                | '{3} (?: [^'] | '(?!'') )*+ (?:'{3,5})?+
                | \" (?: [^\"\\\n] | \\[^\n] )*+ \"?+
                | ' [^'\n]*+ '?+ )
    | (?P<word> [^\s\"'\#\[\]{},.=]++ )
    | (?P<mark> [\[\]{},.=\n] )
    """,
    re.VERBOSE | re.DOTALL,
)
_POWER = re.compile(r"[-+]?[0-9_]*[eE][-+]?([0-9_]+)")
_DEEPER, _HIGHER = frozenset("[{"), frozenset("]}")


def beyond_budget(text: str) -> tuple[int, str] | None:
    """The first line that asks for more than a file of offers needs, and what of it is too much; None if none does."""
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > budgets.OFFERS_LINE_CHARACTERS:
            return number, f"this line has more than {budgets.OFFERS_LINE_CHARACTERS:,} characters"
    return next(_too_much(text), None)


def _too_much(text: str) -> Iterator[tuple[int, str]]:
    line, depth, dots = 1, 0, 0
    for token in _TOKEN.finditer(text):
        said = token[0]
        if token.lastgroup == "word":
            if len(said) > budgets.OFFERS_WORD_CHARACTERS:
                yield line, f"a number or word has more than {budgets.OFFERS_WORD_CHARACTERS} characters"
            if (power := _POWER.fullmatch(said)) and len(power[1]) > budgets.OFFERS_EXPONENT_DIGITS:
                yield line, "a number has so large a power of ten that it cannot be reckoned with"
        elif token.lastgroup == "mark":
            depth = max(0, depth + (said in _DEEPER) - (said in _HIGHER))
            dots = dots + 1 if said == "." else 0
            if depth > budgets.OFFERS_DEPTH:
                yield line, f"more than {budgets.OFFERS_DEPTH} brackets lie within each other"
            if dots >= budgets.OFFERS_KEY_PARTS:
                yield line, f"a key has more than {budgets.OFFERS_KEY_PARTS} parts"
        line += said.count("\n")
