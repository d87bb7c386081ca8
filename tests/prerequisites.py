"""What the suite needs from the machine besides Python's packages: look, and install what is missing.

Run by ``make test`` with the machine's own Python, before there is a virtual environment: it can import
nothing but the standard library.
"""

import ctypes
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

#: Where programs lie that are not on everybody's search path.
_MORE_FOLDERS = ["/usr/sbin", "/sbin", *map(str, sorted(Path("/usr/lib/postgresql").glob("*/bin")))]

#: The programs, and the Debian package each comes in.
PACKAGES = {
    "initdb": "postgresql",
    "postgres": "postgresql",
    "redis-server": "redis-server",
    "haproxy": "haproxy",
    "caddy": "caddy",
    "chromium": "chromium",
    "setpriv": "util-linux",
}

#: The libraries that lay out PDFs, likewise.
LIBRARIES = {
    "libpango-1.0.so.0": "libpango-1.0-0",
    "libpangoft2-1.0.so.0": "libpangoft2-1.0-0",
    "libharfbuzz-subset.so.0": "libharfbuzz-subset0",
}
#: The font that PDFs are set in.
FONT = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"


def missing_packages() -> list[str]:
    """The Debian packages that would bring what is not there, sorted."""
    path = os.pathsep.join([os.environ.get("PATH", os.defpath), *_MORE_FOLDERS])
    missing = {package for program, package in PACKAGES.items() if shutil.which(program, path=path) is None}
    missing |= {package for library, package in LIBRARIES.items() if not can_be_loaded(library)}
    if not Path(FONT).exists():
        missing.add("fonts-dejavu-core")
    # Debian splits off what `python -m venv` needs.
    if importlib.util.find_spec("ensurepip") is None:
        missing.add(f"python3.{sys.version_info.minor}-venv")
    return sorted(missing)


def can_be_loaded(library: str) -> bool:
    """Whether the machine has this shared library."""
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def as_root() -> list[str] | None:
    """What to put before a command to run it as root; None where this account may not."""
    if os.geteuid() == 0:
        return []
    sudo = shutil.which("sudo")
    # -n: a question for a password would hang a run that nobody watches.
    if sudo and subprocess.run([sudo, "-n", "true"], capture_output=True).returncode == 0:
        return [sudo, "-n"]
    return None


def install(packages: list[str]) -> bool:
    """Install Debian packages; False, having said what is missing, where that cannot be done from here."""
    line = f"apt-get install -y --no-install-recommends {' '.join(packages)}"
    root = as_root()
    if root is None or shutil.which("apt-get") is None:
        print(f"The suite needs what these Debian packages hold. As root:\n  {line}", file=sys.stderr)
        return False
    apt = [*root, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get"]
    print(f"Installing {', '.join(packages)}", flush=True)
    return all(
        subprocess.run([*apt, *arguments]).returncode == 0
        for arguments in (["-q", "update"], ["-q", *line.split()[1:]])
    )


def main() -> int:
    """0 once all that is needed is there, else 1."""
    missing = missing_packages()
    return 0 if not missing or (install(missing) and not missing_packages()) else 1


if __name__ == "__main__":
    sys.exit(main())
