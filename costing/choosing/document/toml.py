"""An offers file: TOML in, a case out, and every fault with its line; and typed tables written as TOML again.

Before a file is read as TOML it is checked for what would keep the TOML reader busy for minutes.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import tomli_w

from config import budgets
from config.files import TooLarge, read_plain
from config.showing import whole
from costing.choosing.core.case import Case
from costing.choosing.document.checks import KeyPath, Unreadable
from costing.choosing.document.schema import LISTS, TABLES, Tables, by_name
from costing.choosing.document.tables import case_made_of, given, read_tables

# Possessive, or else a line of brackets and blanks would be tried in every possible way.
_HEADER = re.compile(r"\s*+(\[\[?)\s*+([^\[\]#\s][^\[\]#]*+)\]\]?")
_KEY = re.compile(r"\s*(?:\"([^\"]+)\"|'([^']+)'|([A-Za-z0-9_-]+))\s*[=.]")
_POSITION = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")
#: Possessive throughout, so that each character is looked at once, whatever the text.
_TOKEN = re.compile(
    r"""
    (?P<comment> \#[^\n]*+ )
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
_OPENING, _CLOSING = frozenset("[{"), frozenset("]}")

#: A list that is longer is written with a line for each of its values.
_LONGEST_LINE = 110
#: What we say of a file that is too large to read.
TOO_LARGE = f"This is too large for an offers file: at most {budgets.OFFERS_FILE_BYTES // 1000} kB."


class BadFile(ValueError):
    """A file that can't be read. ``faults`` has one line for each reason: file:line: key: what is wrong."""

    def __init__(self, faults: Sequence[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = list(faults)


def read_file(path: Path, *, nation: str) -> Case:
    """The case in an offers file, for a co-op in ``nation``. Raises BadFile with every fault."""
    try:
        content = read_plain(path, most=budgets.OFFERS_FILE_BYTES)
    except TooLarge as error:
        raise BadFile([f"{path}: {TOO_LARGE}"]) from error
    except OSError as error:
        raise BadFile([f"{path}: cannot be read: {error.strerror or error}"]) from error
    return case_made_of(document_in(path.name, content), nation)


def document_in(name: str, content: bytes) -> Tables:
    """The typed tables of the faultless document in a file called ``name``. Raises BadFile with every fault."""
    text = _text_of(name, content)
    if found := beyond_budget(text):
        line, what = found
        raise BadFile([f"{name}:{line}: {what}; nothing of the file was read"])
    try:
        document = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise BadFile([_syntax_fault(name, text, error)]) from error
    except (ValueError, RecursionError) as error:  # a number of thousands of digits, thousands of brackets
        raise BadFile([f"{name}:1: this isn’t readable TOML: a number is too long, or a list too deep"]) from error
    try:
        return read_tables(document)
    except Unreadable as error:
        raise BadFile(_by_line(name, text, error)) from error


def _by_line(name: str, text: str, unreadable: Unreadable) -> list[str]:
    """Each fault with its line, in the order of the file; of a great many, the first and how many more."""
    lines, shown = lines_of_places(text), unreadable.faults[: budgets.OFFERS_FAULTS]
    numbered = sorted(((_line(lines, fault.place), fault) for fault in shown), key=lambda pair: pair[0])
    faults = [f"{name}:{line}: {fault.key}: {fault.words}" for line, fault in numbered]
    more = len(unreadable.faults) - len(shown)
    return [*faults, f"{name}: and {whole(more)} more"] if more else faults


def file_of(tables: Tables) -> str:
    """Write typed tables as the text of an offers file: keys in the order of the schema, pounds with two decimals."""
    written = [(f"[{name}]", given(keys, by_name(tables)[name])) for name, keys in TABLES.items()]
    written += [(f"[[{name}]]", given(keys, row)) for name, keys in LISTS.items() for row in by_name(tables)[name]]
    return "\n".join("\n".join([header, *_lines(table), ""]) for header, table in written if table)


def _lines(table: Mapping[str, Any], indent: str = "") -> Iterator[str]:
    """The lines of a table; an offer's own running costs come last, as a table inside it."""
    yield from (f"{indent}{name} = {_inline(value)}" for name, value in table.items() if name != "running")
    if "running" in table:
        yield f"{indent}  [offer.running]"
        yield from _lines(table["running"], f"{indent}  ")


def _inline(value: Any) -> str:
    """A value as TOML on one line; a long list over several."""
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{name} = {_inline(one)}' for name, one in value.items())} }}"
    if isinstance(value, list):
        items = [_inline(one) for one in value]
        line = f"[{', '.join(items)}]"
        return line if len(line) < _LONGEST_LINE else "\n".join(["[", *(f"    {item}," for item in items), "]"])
    return tomli_w.dumps({"value": value}).removeprefix("value = ").rstrip("\n")


def _text_of(name: str, content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise BadFile([f"{name}:{line}: this isn’t UTF-8 text: save the file as UTF-8"]) from error


def _syntax_fault(name: str, text: str, error: tomllib.TOMLDecodeError) -> str:
    words, found = str(error), _POSITION.search(str(error))
    line = found[1] if found and found[1] else text.count("\n") + 1
    return f"{name}:{line}: this isn’t TOML: {words[: found.start()] if found else words}"


def lines_of_places(text: str) -> Mapping[KeyPath, int]:
    """The line, from 1, of each table and each of its keys; the text is readable TOML."""
    places: dict[KeyPath, int] = {}
    counts: dict[str, int] = {}
    table: KeyPath = ()
    quote = ""
    for number, line in enumerate(text.splitlines(), 1):
        if not quote and (header := _HEADER.match(line)):
            name, *inside = (part.strip("\"' \t") for part in header[2].split("."))
            if header[1] == "[[" and not inside:
                counts[name] = counts.get(name, -1) + 1
            # A table inside the list's last one: [offer.running].
            table = (name, counts[name], *inside) if name in counts else (name, *inside)
            places.setdefault(table, number)
        elif not quote and (key := _KEY.match(line)):
            places.setdefault((*table, key[1] or key[2] or key[3]), number)
        quote = _open_quote(line, quote)
    return places


def _open_quote(line: str, quote: str) -> str:
    """The triple quotes left open at the end of the line, if any: nothing inside them is a key."""
    for mark in re.findall(r"\"\"\"|'''", line):
        quote = "" if mark == quote else quote or mark
    return quote


def _line(lines: Mapping[KeyPath, int], place: KeyPath) -> int:
    """The line of a place. A key that was left out has the line of its table, or else of the first."""
    for length in range(len(place), 0, -1):
        if place[:length] in lines:
            return lines[place[:length]]
    of_list = [line for found, line in lines.items() if found[0] == place[0]]
    return min(of_list, default=1)


def beyond_budget(text: str) -> tuple[int, str] | None:
    """The first line that goes beyond what an offers file needs, and how; None if no line does.

    It tells words from strings and comments, and leaves it to the TOML reader to say what isn't TOML.
    """
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
                yield line, "a number has too large a power of ten"
        elif token.lastgroup == "mark":
            depth = max(0, depth + (said in _OPENING) - (said in _CLOSING))
            dots = dots + 1 if said == "." else 0
            if depth > budgets.OFFERS_DEPTH:
                yield line, f"more than {budgets.OFFERS_DEPTH} brackets are nested"
            if dots >= budgets.OFFERS_KEY_PARTS:
                yield line, f"a key has more than {budgets.OFFERS_KEY_PARTS} parts"
        line += said.count("\n")
