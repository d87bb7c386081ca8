"""Change the cores in thousands of small ways, and see that their own tests notice: `make endure`.

Each change is a mutant; mutmut makes them, as pyproject.toml says, and tries each against the tests in tests/core that
reach its function. All of them take about half an hour on two cores. What is given as arguments goes to ``mutmut run``:
``make endure ARGS='fleet.core.mot*'`` tries the mutants of one module, and ``mutmut show NAME`` shows one of them.
"""

import fnmatch
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path

#: The least share of the mutants that the tests must kill, in hundredths.
LEAST = 95
#: Of a mutant that was noticed: a test failed, or it ran for ever.
KILLED = {"killed", "timeout"}
_MUTMUT = str(Path(sys.executable).with_name("mutmut"))
_FOLDER = Path("mutants")


def run(arguments: list[str], patterns: list[str]) -> None:
    """Try the mutants whose names fit ``patterns``, all if there are none. Exits where mutmut itself fails."""
    if not patterns:
        # It remembers what it has tried, but not that a test has changed since.
        shutil.rmtree(_FOLDER, ignore_errors=True)
    done = subprocess.run([_MUTMUT, "run", *arguments], stdout=None if sys.stdout.isatty() else subprocess.PIPE)
    if done.returncode:
        sys.stdout.write((done.stdout or b"").decode(errors="replace").replace("\r", "\n")[-4_000:])
        sys.exit(done.returncode)


def verdicts(patterns: list[str]) -> dict[str, str]:
    """What became of each of those mutants, by name."""
    listed = subprocess.run([_MUTMUT, "results", "--all", "True"], stdout=subprocess.PIPE, text=True, check=True)
    found = dict(line.strip().rsplit(": ", 1) for line in listed.stdout.splitlines())
    return {
        name: verdict
        for name, verdict in found.items()
        if not patterns or any(fnmatch.fnmatch(name, pattern) for pattern in patterns)
    }


def main(arguments: list[str]) -> int:
    """Try the mutants, or, for the argument ``load``, how many members the book serves at once.

    0 if enough mutants were killed, else 1; print the share of each module and the mutants that live.
    """
    if arguments == ["load"]:
        from bench.load import main as load

        return load()
    patterns = [argument for argument in arguments if "." in argument]
    run(arguments, patterns)
    found = verdicts(patterns)
    made, killed = Counter(map(_module_of, found)), Counter(map(_module_of, (n for n in found if found[n] in KILLED)))
    for module in sorted(made):
        print(f"{100 * killed[module] / made[module]:6.1f} %  {killed[module]:5} of {made[module]:5}  {module}")
    for name, verdict in found.items():
        if verdict not in KILLED:
            print(f"{verdict}: {name}")
    print(f"{killed.total()} of {made.total()} mutants were killed, and {LEAST} % of them must be.")
    return 0 if made and 100 * killed.total() >= LEAST * made.total() else 1


def _module_of(name: str) -> str:
    return name.rpartition(".")[0]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
