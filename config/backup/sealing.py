"""Sealing to a public key by age, and opening again, as streams: neither the whole file nor a clear copy is kept."""

import os
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, BinaryIO

from django.utils import timezone

from config.backup.faults import Refused

#: What a sealed file begins with.
SEALED_MAGIC = b"age-encryption.org/"


@contextmanager
def sealed(out: BinaryIO, recipient: str) -> Iterator[BinaryIO]:
    """A stream that writes to ``out`` what only the holder of the recipient's secret key can read.

    Raises what writing to ``out`` raises.
    """
    import pyrage

    to = _Remembering(out)
    reading, writing = os.pipe()

    def seal() -> None:
        with open(reading, "rb") as clear, suppress(pyrage.EncryptError, OSError):
            pyrage.encrypt_io(clear, to, [pyrage.x25519.Recipient.from_str(recipient)])
            to.is_done = True

    with _beside(seal):
        try:
            with open(writing, "wb") as clear:
                yield clear
        except BrokenPipeError:
            # Said in its own words below.
            if to.error is None:
                raise
    if to.error or not to.is_done:
        raise to.error or OSError("sealing broke off")


@contextmanager
def opened(file: BinaryIO, key: Any) -> Iterator[BinaryIO]:
    """A stream of what is sealed in ``file``, read with the secret ``key``.

    Raises Refused if the key is another's or a byte has changed.
    """
    import pyrage

    reading, writing = os.pipe()
    problems: list[Exception] = []

    def unseal() -> None:
        with suppress(BrokenPipeError), open(writing, "wb") as clear:
            try:
                pyrage.decrypt_io(file, clear, [key])
            except (pyrage.DecryptError, OSError) as error:
                problems.append(error)

    try:
        with _beside(unseal), open(reading, "rb") as clear:
            yield clear
    except Exception:
        if problems and "Broken pipe" not in str(problems[0]):
            raise _refusal(problems[0]) from None
        raise
    if problems:
        raise _refusal(problems[0])


def _refusal(problem: Exception) -> Refused:
    if "No matching keys" in str(problem):
        return Refused("It is sealed to another key: this identity does not open it.")
    return Refused(f"It is cut, or was altered ({problem}).")


@contextmanager
def _beside(work: Callable[[], None]) -> Iterator[None]:
    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    try:
        yield
    finally:
        thread.join()


class _Remembering:
    """A stream that remembers why it could not be written to.

    The library tells it as a text, and of the last bytes, which it writes as it ends, not at all.
    """

    def __init__(self, out: BinaryIO) -> None:
        self._out = out
        self.error: Exception | None = None
        self.is_done = False

    def write(self, content: bytes) -> int:
        try:
            return self._out.write(content)
        except Exception as error:
            self.error = error
            raise

    def flush(self) -> None:
        self._out.flush()


def new_key() -> tuple[str, str]:
    """A new secret key, in the lines that ``age-keygen`` writes, and its public key."""
    import pyrage

    key = pyrage.x25519.Identity.generate()
    lines = f"# created: {timezone.now():%Y-%m-%dT%H:%M:%SZ}\n# public key: {key.to_public()}\n{key}\n"
    return lines, str(key.to_public())


def make_key(path: Path) -> str:
    """Write a new secret key, for its owner alone; return its public key.

    Raises OSError, FileExistsError too: no key is ever written over.
    """
    lines, public = new_key()
    with open(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        file.write(lines)
        file.flush()
        os.fsync(file.fileno())
    return public


def read_key(path: Path) -> Any:
    """The secret key in such a file. Raises OSError, and Refused if there is none in it."""
    import pyrage

    lines = path.read_text(errors="replace").splitlines()
    for line in lines:
        if line.strip() and not line.startswith("#"):
            with suppress(pyrage.IdentityError):
                return pyrage.x25519.Identity.from_str(line.strip())
    raise Refused(f"{path} holds no secret key (a line that begins with AGE-SECRET-KEY-1).")
