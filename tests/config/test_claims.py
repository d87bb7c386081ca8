"""Telling whether the holder of a claim still runs."""

import os
import socket
import subprocess
import sys

import pytest

from config.claims import has_ended, this_process


def test_this_process_runs() -> None:
    host, pid, _ = this_process().rsplit("/", 2)
    assert (host, int(pid)) == (socket.gethostname(), os.getpid())
    assert not has_ended(this_process())


def test_a_process_that_was_killed_has_ended_even_before_anybody_noticed() -> None:
    code = "from config.claims import this_process as t; print(t(), flush=True); input()"
    process = subprocess.Popen([sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert process.stdin is not None
    assert process.stdout is not None
    holder = process.stdout.readline().strip()
    assert not has_ended(holder)
    process.kill()
    os.waitid(os.P_PID, process.pid, os.WEXITED | os.WNOWAIT)  # it is dead, and its parent has not asked yet
    assert has_ended(holder)
    process.communicate()
    assert has_ended(holder)


def test_the_same_id_used_again_is_another_process() -> None:
    assert has_ended(f"{socket.gethostname()}/{os.getpid()}/1")


@pytest.mark.parametrize("holder", ["", "elsewhere/1/100", "not a holder", f"{socket.gethostname()}/x/1"])
def test_of_others_it_is_never_certain(holder: str) -> None:
    assert not has_ended(holder)
