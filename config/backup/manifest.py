"""What a backup says of itself, last: whoever has read it knows that nothing is missing."""

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import IO, Any

from django.utils.crypto import salted_hmac

from config.backup.faults import Refused

#: Of this way to lay out a backup. A release reads those that it knows.
FORMAT = 1
MANIFEST = "manifest.json"
_CHUNK = 1 << 16


@dataclass
class OfTable:
    """Of one table: its columns, in the order of the rows; how many, and the sum over their lines."""

    columns: Sequence[str]
    rows: int
    sha256: str


@dataclass
class OfFile:
    """Of one file: its bytes, and the sum over them."""

    size: int
    sha256: str

    @classmethod
    def read(cls, file: IO[bytes], hand_on: Callable[[bytes], object] = lambda chunk: None) -> "OfFile":
        """Of a file that is read to its end, a chunk at a time, each of which may be handed on."""
        size, total = 0, hashlib.sha256()
        while chunk := file.read(_CHUNK):
            size += len(chunk)
            total.update(chunk)
            hand_on(chunk)
        return cls(size, total.hexdigest())


@dataclass
class Manifest:
    """``last_numbers`` are the last that the database gave, by table; ``missing`` files were named by a row only."""

    made_at: str
    database: str
    key_check: str
    migrations: list[list[str]]
    tables: dict[str, OfTable] = field(default_factory=dict)
    last_numbers: dict[str, int] = field(default_factory=dict)
    files: dict[str, OfFile] = field(default_factory=dict)
    missing: list[str] = field(default_factory=list)
    format: int = FORMAT

    @property
    def moment(self) -> datetime:
        return datetime.fromisoformat(self.made_at)

    def as_bytes(self) -> bytes:
        return json.dumps(asdict(self), indent=1).encode()


def read_manifest(content: bytes) -> Manifest:
    """Raises Refused if it is none, or one of a later format."""
    try:
        told: dict[str, Any] = json.loads(content)
        if told["format"] > FORMAT:
            raise Refused("It was made by a newer release of the book: install that release, then restore.")
        told["tables"] = {name: OfTable(**of) for name, of in told["tables"].items()}
        told["files"] = {name: OfFile(**of) for name, of in told["files"].items()}
        made = Manifest(**told)
        made.moment  # noqa: B018 - whether it is one
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise Refused("Its manifest cannot be read: it is no backup of this book, or was altered.") from error
    return made


def key_check() -> str:
    """A text by which to tell whether two installations have the same SECRET_KEY; the key cannot be told from it."""
    return salted_hmac("config.backup", "the same key", algorithm="sha256").hexdigest()
