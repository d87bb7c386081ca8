"""An offers file: TOML in, the case out, and every fault by its line."""

import re
import tomllib
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import tomli_w

from config import budgets
from config.files import TooLarge, read_plain
from config.showing import whole
from costing.offers.faults import Place, Unreadable
from costing.offers.measuring import beyond_budget
from costing.offers.reading import Document, read

# Possessive: an array's line of brackets and blanks would else be tried in every way there is.
_HEADER = re.compile(r"\s*+(\[\[?)\s*+([^\[\]#\s][^\[\]#]*+)\]\]?")
_KEY = re.compile(r"\s*(?:\"([^\"]+)\"|'([^']+)'|([A-Za-z0-9_-]+))\s*[=.]")
_POSITION = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")


#: What is said of a file that is not looked at.
TOO_LARGE = f"This is too large for an offers file: at most {budgets.OFFERS_FILE_BYTES // 1000} kB."


class BadFile(ValueError):
    """A file that cannot be read; ``faults`` has one line for each reason: file:line: key: what is wrong."""

    def __init__(self, faults: Sequence[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = list(faults)


def read_file(path: Path, *, nation: str) -> Document:
    """The case an offers file states, for a co-op in ``nation``. Raises BadFile with every fault."""
    try:
        content = read_plain(path, most=budgets.OFFERS_FILE_BYTES)
    except TooLarge as error:
        raise BadFile([f"{path}: {TOO_LARGE}"]) from error
    except OSError as error:
        raise BadFile([f"{path}: cannot be read: {error.strerror or error}"]) from error
    return read(document_in(path.name, content), nation=nation)


def document_in(name: str, content: bytes) -> dict[str, Any]:
    """The document that a file called ``name`` holds, found to be without fault. Raises BadFile with every fault."""
    text = _text_of(name, content)
    if found := beyond_budget(text):
        line, what = found
        raise BadFile([f"{name}:{line}: {what}; nothing of the file was read"])
    try:
        document = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise BadFile([_syntax_fault(name, text, error)]) from error
    except (ValueError, RecursionError) as error:  # a number of thousands of digits, thousands of brackets
        raise BadFile([f"{name}:1: this cannot be read as TOML: a number is too long or a list too deep"]) from error
    try:
        read(document)
    except Unreadable as error:
        raise BadFile(_by_line(name, text, error)) from error
    return document


def _by_line(name: str, text: str, unreadable: Unreadable) -> list[str]:
    """Each fault by its line, in the order of the file; of very many, how many more there are."""
    lines, told = lines_of_places(text), unreadable.faults[: budgets.OFFERS_FAULTS]
    numbered = sorted(((_line(lines, fault.place), fault) for fault in told), key=lambda pair: pair[0])
    faults = [f"{name}:{line}: {fault.key}: {fault.words}" for line, fault in numbered]
    more = len(unreadable.faults) - len(told)
    return [*faults, f"{name}: and {whole(more)} more"] if more else faults


def file_of(document: Mapping[str, Any]) -> str:
    """A document as the text of an offers file."""
    return tomli_w.dumps(document)


def _text_of(name: str, content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise BadFile([f"{name}:{line}: the file is not UTF-8 text: save it as UTF-8"]) from error


def _syntax_fault(name: str, text: str, error: tomllib.TOMLDecodeError) -> str:
    words, found = str(error), _POSITION.search(str(error))
    line = found[1] if found and found[1] else text.count("\n") + 1
    return f"{name}:{line}: this is not TOML: {words[: found.start()] if found else words}"


def lines_of_places(text: str) -> Mapping[Place, int]:
    """The line, from 1, on which each table and each of its keys stands; the text is TOML that can be read."""
    places: dict[Place, int] = {}
    counts: dict[str, int] = {}
    table: Place = ()
    quote = ""
    for number, line in enumerate(text.splitlines(), 1):
        if not quote and (header := _HEADER.match(line)):
            name = header[2].strip("\"' \t")
            if header[1] == "[[":
                counts[name] = counts.get(name, -1) + 1
                table = (name, counts[name])
            else:
                table = tuple(part.strip("\"' ") for part in name.split("."))
                if table[0] in counts:  # a table inside the list's last one: [offer.early_exit]
                    table = (table[0], counts[str(table[0])], *table[1:])
            places.setdefault(table, number)
        elif not quote and (key := _KEY.match(line)):
            places.setdefault((*table, key[1] or key[2] or key[3]), number)
        quote = _open_quote(line, quote)
    return places


def _open_quote(line: str, quote: str) -> str:
    """The triple quotes that are open at the end of the line, if any: what stands in them names no key."""
    for mark in re.findall(r"\"\"\"|'''", line):
        quote = "" if mark == quote else quote or mark
    return quote


def _line(lines: Mapping[Place, int], place: Place) -> int:
    """The line of a place; of a key that is not there, that of its table, or the first."""
    for length in range(len(place), 0, -1):
        if place[:length] in lines:
            return lines[place[:length]]
    of_list = [line for found, line in lines.items() if found[0] == place[0]]
    return min(of_list, default=1)
