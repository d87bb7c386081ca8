"""A task in a process of its own, which takes along all memory when it ends; it ends with whoever started it.

``python -m config.apart REQUEST_ID TASK ARGUMENT...``, whose request id may be empty.
"""

import subprocess
import sys

from django.conf import settings

from config.lifeline import hang_on, lifeline
from config.request_id import current_request_id, working_for


def run_apart(task: str, *arguments: object, seconds: float) -> None:
    """Run a task of texts, and wait for it, for so long at most.

    Raises CalledProcessError if it failed, the log says at what; and TimeoutExpired, and the process is gone.
    """
    command = [sys.executable, "-m", "config.apart", current_request_id(), task, *map(str, arguments)]
    with lifeline() as life:
        subprocess.run(command, cwd=settings.BASE_DIR, stdin=life, check=True, timeout=seconds)  # noqa: S603 - ours


def main(request_id: str, task: str, *arguments: str) -> None:
    """Run the task of this name."""
    hang_on()
    import django
    from django.utils.module_loading import import_string

    django.setup()
    with working_for(request_id):
        import_string(task)(*arguments)


if __name__ == "__main__":
    main(*sys.argv[1:])
