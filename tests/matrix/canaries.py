"""What may be read by some and nobody else: odd sums, odd words and secrets, known again in any document."""

import html
import io
import itertools
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from uuid import UUID, uuid5
from zipfile import ZipFile

from pypdf import PdfReader

from config.showing import day as day_in_words
from tests.matrix.roles import LOG

#: What a reference, a day, a word of ours and a figure look like in any document. What follows a slash is the number of
#: a row in an address: after thousands of tests it meets a sum of five figures by chance.
_TOKEN = re.compile(
    r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"
    r"|(?<!\d)\d{1,2} [A-Z][a-z]+ \d{4}|\d{4}-\d\d-\d\d|(?<!\w)\d{8}(?!\w)"
    r"|canary[a-z0-9-]*(?:@book\.example)?"
    r"|(?<![\w/])\d+(?:,\d{3})*(?:\.\d+)?(?!\w)"
)
_REFS_OF = UUID("7c1f0f5e-0d0c-4c58-9d8e-5a1b6f0c2d11")
#: A whole number of fewer figures than this meets others by chance.
_LEAST_WHOLE = 10_000


@dataclass(frozen=True)
class Canary:
    """One thing that is ``open_to`` some roles alone."""

    what: str
    open_to: frozenset[str]


@dataclass
class Canaries:
    """All there are. Each method makes one, keeps every way to write it, and gives back its value."""

    _by_spelling: dict[str, Canary] = field(default_factory=dict)
    #: Spellings that look like none of these: they are looked for as they stand.
    _secrets: list[str] = field(default_factory=list)
    _numbers: set[int] = field(default_factory=set)

    def _number(
        self, what: str, open_to: Iterable[str], least: int, most: int, spell: Callable[[int], set[str]]
    ) -> int:
        """An odd number between two, kept as ``spell`` writes it: never the same again, nor written as another is."""
        for step in itertools.count(len(self._numbers)):
            number = least + step * 7_919 % (most - least) | 1
            if number not in self._numbers and self._by_spelling.keys().isdisjoint(spell(number)):
                break
        self._numbers.add(number)
        self._keep(what, spell(number), open_to)
        return number

    def _keep(self, what: str, spellings: Iterable[str], open_to: Iterable[str]) -> None:
        canary = Canary(what, frozenset(open_to))
        for one in spellings:
            assert one not in self._by_spelling, f"{what} and {self._by_spelling[one].what} are both {one}"
            self._by_spelling[one] = canary
            if not _TOKEN.fullmatch(one):
                self._secrets.append(one)

    def sum(self, what: str, *open_to: str, least: int = 100, most: int = 990) -> Decimal:
        """Pounds and pence between two whole pounds."""

        def spell(pence: int) -> set[str]:
            amount = Decimal(pence) / 100
            spellings = {f"{amount:.2f}", f"{amount:,.2f}", f"{amount.normalize():f}", str(pence)}
            return spellings | ({f"{amount:.0f}", f"{amount:,.0f}"} if amount >= _LEAST_WHOLE else set())

        return Decimal(self._number(what, open_to, least * 100, most * 100, spell)) / 100

    def count(self, what: str, *open_to: str, least: int = 10_000, most: int = 99_000) -> int:
        """A whole number: miles, or anything that is counted."""

        def spell(number: int) -> set[str]:
            # Of four digits, a row's number in an address may be the same by chance.
            return {f"{number:,}"} | ({str(number)} if number >= 10_000 else set())

        return self._number(what, open_to, least, most, spell)

    def minutes(self, what: str, *open_to: str) -> int:
        """Minutes of lessons, which pages show as hours with two places."""

        def spell(number: int) -> set[str]:
            hours = (Decimal(number) / 60).quantize(Decimal("0.01")).normalize()
            return {str(number), f"{number:,}", f"{hours:f}", f"{hours:,f}"}

        return self._number(what, open_to, 10_000, 20_000, spell)

    def thousandths(self, what: str, *open_to: str) -> Decimal:
        """Litres, with three places."""

        def spell(number: int) -> set[str]:
            litres = Decimal(number) / 1000
            return {f"{litres:.3f}", f"{litres.normalize():f}"}

        return Decimal(self._number(what, open_to, 30_000, 49_000, spell)) / 1000

    def day(self, what: str, on: date, *open_to: str) -> date:
        """A day, as pages, files and calendars write it."""
        self._keep(what, {day_in_words(on), on.isoformat(), f"{on:%Y%m%d}"}, open_to)
        return on

    def words(self, what: str, *open_to: str) -> str:
        """What somebody wrote."""
        text = "canary-" + re.sub(r"[^a-z0-9]+", "-", what.lower())
        self._keep(what, {text}, open_to)
        return text

    def ref(self, what: str, *open_to: str) -> str:
        """A reference, as pages make them."""
        made = str(uuid5(_REFS_OF, what))
        self._keep(what, {made}, open_to)
        return made

    def secret(self, what: str, text: str, *open_to: str, also: str = "") -> str:
        """Anything else, kept as it is: an address, a hash, a key; ``also`` is another way to write it."""
        self._keep(what, filter(None, (text, also)), open_to)
        return text

    def seen(self, role: str, text: str, *, sent: str = "") -> list[str]:
        """What of all this ``text`` tells somebody of that role, though it is not for them to see.

        What they ``sent`` themselves tells them nothing.
        """
        known = self._found_in(sent)
        return sorted(canary.what for canary in self._found_in(text) - known if role not in canary.open_to)

    def private_in(self, text: str) -> list[str]:
        """What of all this ``text`` holds is open to one member at most: their money, their words, and secrets."""
        return sorted(canary.what for canary in self._found_in(text) if len(canary.open_to - {LOG}) < 2)

    def _found_in(self, text: str) -> set[Canary]:
        found = set(_TOKEN.findall(text)) & self._by_spelling.keys()
        found |= {one for one in self._secrets if one in text}
        return {self._by_spelling[one] for one in found}


def text_in(body: bytes, content_type: str) -> str:
    """All that can be read in a document: a page, a PDF's text, the files in a zip, a picture's bytes."""
    if not body:  # of a HEAD
        return ""
    if "pdf" in content_type:
        return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(body)).pages)
    if "zip" in content_type:
        with ZipFile(io.BytesIO(body)) as archive:
            return "\n".join(f"{name}\n{text_in(archive.read(name), 'text/csv')}" for name in archive.namelist())
    if content_type.startswith("image/"):
        return body.decode("latin-1")
    text = body.decode()
    if "csv" in content_type:
        # A comma between two cells is none between thousands.
        text = text.replace(",", " ")
    return html.unescape(text) if "html" in content_type else text
