"""The other half of a drill, a process of its own: a scratch book that a backup is restored into and held against.

``python -m config.scratch_book BACKUP`` prints one JSON object. The book is the one that the environment names:
SQLite in an empty folder. It ends with whoever started it.
"""

import json
import os
import resource
import sys
from itertools import islice
from pathlib import Path
from typing import Any

from config.lifeline import hang_on

#: Bytes that it may take; a restore takes 200 MB of a book of any size.
_MOST_MEMORY = 1_000_000_000
#: It is in no hurry.
_NICENESS = 10
#: Differences that are told.
_TOLD = 5


def main(backup: Path) -> None:
    """Print what came back, and what did not, or why nothing did."""
    hang_on()
    resource.setrlimit(resource.RLIMIT_DATA, (_MOST_MEMORY, _MOST_MEMORY))
    os.nice(_NICENESS)
    import django

    django.setup()
    print(json.dumps(_restored_and_compared(backup)))


def _restored_and_compared(backup: Path) -> dict[str, Any]:
    from django.core.management import call_command

    from config.backup import Refused, restore_from
    from config.backup.comparing import differences

    call_command("migrate", verbosity=0, interactive=False)
    try:
        with backup.open("rb") as file:
            restored = restore_from(file, None)
    except Refused as refusal:
        return {"refused": str(refusal)}
    return {
        "made_at": restored.manifest.made_at,
        "rows": sum(restored.rows.values()),
        "files": restored.files,
        "differences": list(islice(differences(restored.manifest), _TOLD)),
    }


if __name__ == "__main__":
    main(Path(sys.argv[1]))
