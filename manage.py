#!/usr/bin/env python
"""Entry point of the book's commands."""

import os
import select
import sys

#: What a shell has of any program that ended because nobody reads its output (128 + SIGPIPE).
_ENDED_BY_HEAD = 141


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    from django.core.management import execute_from_command_line

    try:
        try:
            execute_from_command_line(sys.argv)
        finally:
            sys.stdout.flush()
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
