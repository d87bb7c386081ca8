"""The lock files: each library by one version and by the hashes of its files, and none that nobody asked for."""

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def locked(name: str) -> dict[str, str]:
    """Version of each library of a lock file; AssertionError where one has no hash."""
    text = (ROOT / "requirements" / name).read_text().replace("\\\n", " ")
    found = {}
    for line in text.splitlines():
        if line.strip() and not line.lstrip().startswith("#"):
            pinned = re.match(r"([A-Za-z0-9._-]+)(?:\[[^]]*\])?==([^\s;]+)", line)
            assert pinned, line
            assert re.search(r"--hash=sha256:[0-9a-f]{64}", line), line
            found[re.sub(r"[._]", "-", pinned[1].lower())] = pinned[2]
    return found


@pytest.mark.parametrize("name", ["base.txt", "dev.txt"])
def test_each_library_is_named_by_version_and_hash(name: str) -> None:
    assert len(locked(name)) > 30


def test_they_hold_all_that_the_book_asks_for() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    asked = {re.match(r"[a-z0-9-]+", line)[0] for line in project["project"]["dependencies"]}
    assert asked <= set(locked("base.txt"))
    assert set(locked("base.txt").items()) <= set(locked("dev.txt").items())


def test_they_name_no_place_but_the_usual_one() -> None:
    for name in ("base.txt", "dev.txt"):
        text = (ROOT / "requirements" / name).read_text()
        assert not re.search(r"^\s*--(?!hash)|://|@ ", text, re.MULTILINE)
    assert "--require-hashes" in (ROOT / "Dockerfile").read_text()
    assert "--require-hashes" in (ROOT / "Makefile").read_text()
