#!/usr/bin/env python
"""Entry point of the book's commands."""

import gc
import os
import select
import sys

#: What a shell has of any program that ended because nobody reads its output (128 + SIGPIPE).
_ENDED_BY_HEAD = 141
_WRONG_USE = 2
#: How many objects more than were freed are made before Python looks for cycles among them. Starting makes a quarter of
#: a million and throws none away: with its own 700 it went through them so often that it took a third of the time.
LOOKED_THROUGH_AT = 300_000


def main() -> None:
    if sys.stdout is None:
        # Its number would be given to the next file or connection that is opened, and what is printed go there.
        print("Standard output is closed: lead it to a file, to a program or to /dev/null.", file=sys.stderr)
        sys.exit(_WRONG_USE)
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
        _throw_away_the_rest()
        sys.exit(_ENDED_BY_HEAD)
    except OSError as error:
        from config.broken import is_full

        if not is_full(error):
            raise
        _throw_away_the_rest()
        sys.exit(f"There is no room for what this prints or writes: {error.strerror}.")


def _throw_away_the_rest() -> None:
    """Python would try to print it once more as it ends."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _nobody_reads() -> bool:
    """Whether the reader of the output, such as ``head``, has gone; else it was another pipe that broke."""
    output = select.poll()
    output.register(sys.stdout, 0)
    return any(event & (select.POLLERR | select.POLLHUP) for _, event in output.poll(0))


if __name__ == "__main__":
    main()
