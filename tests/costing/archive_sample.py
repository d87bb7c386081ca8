"""A small archive in its one canonical form, and ways to spoil it."""

import csv
import io
from collections.abc import Mapping
from pathlib import Path

from costing import models as costing
from costing.archive.packing import Content, write_zip
from fleet import models as fleet
from instructors import models as instructors

#: The files of tests/costing/sample_archive: what a dump of that book writes, to the byte.
SAMPLE = {file.name: file.read_text(encoding="utf-8") for file in Path(__file__).with_name("sample_archive").iterdir()}

MODELS = (
    instructors.Cooperative,
    instructors.Member,
    fleet.Car,
    fleet.KeeperTime,
    fleet.OdometerReading,
    fleet.DueItem,
    costing.Repeat,
    costing.CostEntry,
    costing.Fill,
    costing.TeachingRecord,
    costing.Takings,
    costing.Agreement,
    costing.Valuation,
    costing.GroupFigure,
    fleet.CheckPoint,
    fleet.WalkaroundCheck,
    fleet.Defect,
    fleet.DefectStep,
    fleet.TreadReading,
    fleet.TyreMove,
    fleet.Completion,
    fleet.Confirmation,
    costing.Receipt,
    costing.SettledDue,
)


def write_archive(folder: Path, files: dict[str, str] | None = None) -> Path:
    """Write ``files``, or else the sample, into ``folder`` and return it."""
    folder.mkdir(exist_ok=True)
    for name, text in (SAMPLE if files is None else files).items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
    return folder


def zipped(files: Mapping[str, Content]) -> bytes:
    """The files as one zip."""
    packed = io.BytesIO()
    write_zip(files, packed)
    return packed.getvalue()


def row_counts() -> dict[str, int]:
    """How many rows the book has of everything that an archive holds, history included."""
    counts = {model.__name__: model._default_manager.count() for model in MODELS}
    histories = [model.history for model in MODELS if hasattr(model, "history")]
    return counts | {history.model.__name__: history.count() for history in histories}


def cells(file: str, *lines: dict[str, str]) -> dict[str, str]:
    """The sample with ``file``'s first rows changed: each of ``lines`` spoils the cells of one row."""
    reader = csv.DictReader(io.StringIO(SAMPLE[file], newline=""))
    rows = list(reader)
    for row, changes in zip(rows, lines, strict=False):
        assert changes.keys() <= row.keys(), changes
        row.update(changes)
    return SAMPLE | {file: as_csv(list(reader.fieldnames or ()), rows)}


def more(file: str, like: int = 0, **changes: str) -> dict[str, str]:
    """The sample with one more row at the end of ``file``: a row of it with some cells changed."""
    reader = csv.DictReader(io.StringIO(SAMPLE[file], newline=""))
    row = list(reader)[like]
    assert changes.keys() <= row.keys(), changes
    added = as_csv(list(reader.fieldnames or ()), [row | changes]).partition("\n")[2]
    return SAMPLE | {file: SAMPLE[file] + added}


def as_csv(columns: list[str], rows: list[dict[str, str]]) -> str:
    """CSV text with a header."""
    text = io.StringIO(newline="")
    table = csv.DictWriter(text, columns, lineterminator="\n")
    table.writeheader()
    table.writerows(rows)
    return text.getvalue()
