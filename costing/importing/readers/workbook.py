"""XLSX and ODS: read by a process of its own, because a damaged or hostile file can make a reader crash or run on."""

import json
import threading
from pathlib import Path

from config import budgets
from config.reader_process import TakesTooLong, TimeLeft, read_by
from costing.importing.core.sheet import Line, Sheet
from costing.importing.readers.refused import TOO_MUCH_IN_IT, Refused
from costing.importing.readers.workbook_script import TOO_LARGE, TOO_MUCH

_SCRIPT = Path(__file__).with_name("workbook_script.py")
_LIMITS = {
    "memory": budgets.IMPORT_MEMORY,
    "seconds": budgets.IMPORT_SECONDS,
    "rows": budgets.IMPORT_ROWS + 20,
    "columns": budgets.IMPORT_COLUMNS,
    "parts": budgets.IMPORT_PARTS,
    "characters": budgets.IMPORT_CELL_CHARACTERS,
    "in_all": budgets.IMPORT_CHARACTERS,
}
#: In each web process; a second one waits for a moment.
_TURN = threading.BoundedSemaphore(1)


def read_workbook(content: bytes) -> Sheet:
    """Return the first sheet that has anything in it. Raises Refused."""
    try:
        ran = read_by(_SCRIPT, json.dumps(_LIMITS), content=content, turn=_TURN, left=TimeLeft())
    except TakesTooLong:
        raise Refused("This spreadsheet cannot be read now, because the server is busy. Send it again.") from None
    if ran.returncode == TOO_LARGE:
        most = f"{budgets.IMPORT_ROWS:,} rows and {budgets.IMPORT_COLUMNS} columns"
        raise Refused(f"This spreadsheet is too large: its first sheet may have {most}.")
    if ran.returncode == TOO_MUCH:
        raise Refused(TOO_MUCH_IN_IT)
    if ran.returncode:
        raise Refused("This spreadsheet cannot be read. Save it again as XLSX, ODS or CSV and send that.")
    found = json.loads(ran.stdout)
    others = ", ".join(found["others"])
    note = f"Only the sheet “{found['sheet']}” was read, not {others}." if others else ""
    return Sheet(tuple(Line(number, tuple(cells)) for number, cells in found["lines"]), note=note)
