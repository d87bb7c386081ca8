#!/usr/bin/env python
"""Entry point of the book's commands."""

import gc
import os
import select
import sys

#: What a shell has of any program that ended because nobody reads its output (128 + SIGPIPE).
_ENDED_BY_HEAD = 141
#: How many objects more than were freed are made before Python looks for cycles among them. Starting makes a quarter of
#: a million and throws none away: with its own 700 it went through them so often that it took a third of the time.
LOOKED_THROUGH_AT = 300_000


def main() -> None:
    gc.set_threshold(LOOKED_THROUGH_AT)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    from django.core.management import execute_from_command_line

    try:
        try:
            execute_from_command_line(sys.argv)
        finally:
            sys.stdout.flush()
            # Python would look for cycles once more as it ends, among all that goes anyway.
            gc.freeze()
    except BrokenPipeError:
        if not _nobody_reads():
            raise
        # Python would try to print the rest once more as it ends.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(_ENDED_BY_HEAD)


def _nobody_reads() -> bool:
    """Whether the reader of the output, such as ``head``, has gone; else it was another pipe that broke."""
    output = select.poll()
    output.register(sys.stdout, 0)
    return any(event & (select.POLLERR | select.POLLHUP) for _, event in output.poll(0))


if __name__ == "__main__":
    main()
