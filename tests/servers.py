"""Throw-away PostgreSQL and Redis for one run of the suite: private sockets, no ports, gone with the run.

And a proxy, for tests of what stands in front of the book: it listens on a free port of this machine.

Nothing here touches a server that is already there: two clones can run their suites side by side.
"""

import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path

import psycopg
import redis

#: PostgreSQL's programs, which Debian keeps off the search path.
_POSTGRESQL_FOLDERS = "/usr/lib/postgresql"
#: Seconds that anything may take on a busy machine; a quick one waits for none of them.
_PATIENCE = 120
#: A Unix socket's path must stay below 108 bytes; PostgreSQL adds ".s.PGSQL.5432" to its folder.
_LONGEST_FOLDER = 80

#: Durability is of no use to a database that is thrown away in a minute.
_FORGETFUL = {
    "fsync": "off",
    "synchronous_commit": "off",
    "full_page_writes": "off",
    "max_connections": "60",
    "shared_buffers": "64MB",
    "listen_addresses": "",
}


class ServerMissing(Exception):
    """A program that the suite needs is not installed."""


def short_folder() -> Path:
    """A new private folder whose path is short enough to hold Unix sockets."""
    folder = Path(tempfile.mkdtemp(prefix="tcb-"))
    if len(os.fsencode(folder)) <= _LONGEST_FOLDER:
        return folder
    folder.rmdir()
    return Path(tempfile.mkdtemp(prefix="tcb-", dir="/tmp"))


def program(name: str, package: str) -> str:
    """The path of a server's program; ServerMissing with the line that installs it."""
    if found := shutil.which(name):
        return found
    versions = sorted(
        Path(_POSTGRESQL_FOLDERS).glob(f"*/bin/{name}"), key=lambda path: float(path.parts[-3]), reverse=True
    )
    if versions:
        return str(versions[0])
    raise ServerMissing(f"{name} is not installed: apt-get install -y --no-install-recommends {package}")


def dying_with_us(command: Sequence[str], *, on_death: str = "KILL", user: str | None = None) -> list[str]:
    """The command, told to end when this process ends, however it ends; run as ``user`` where root may."""
    setpriv = shutil.which("setpriv")
    if setpriv is None:
        if user:
            raise ServerMissing("setpriv is not installed: apt-get install -y util-linux")
        return list(command)
    options = [f"--pdeathsig={on_death}"]
    if user:
        account = pwd.getpwnam(user)
        options += [f"--reuid={account.pw_uid}", f"--regid={account.pw_gid}", "--clear-groups"]
    return [setpriv, *options, "--", *command]


def wait_until(ready: Callable[[], bool], what: str, seconds: float = _PATIENCE) -> None:
    """Ask until ``ready`` says yes; TimeoutError, naming ``what``, after so many seconds."""
    # perf_counter, because a test may have stopped the wall clock.
    give_up_at = time.perf_counter() + seconds
    while not ready():
        if time.perf_counter() > give_up_at:
            raise TimeoutError(f"{what} took longer than {seconds:g} seconds")
        time.sleep(0.02)


class PostgreSQL:
    """A PostgreSQL cluster in ``folder``, reached by a socket there and by nobody else.

    One that is ``lasting`` has PostgreSQL's own settings, and keeps what was committed whatever dies; of others the
    last blink may be lost.
    """

    def __init__(self, folder: Path, *, lasting: bool = False) -> None:
        self.folder = folder
        self._settings = {"listen_addresses": ""} if lasting else _FORGETFUL
        self._process: subprocess.Popen[bytes] | None = None

    @property
    def pid(self) -> int:
        """The process that all others of the cluster are children of."""
        assert self._process is not None
        return self._process.pid

    def url_of(self, database: str) -> str:
        """The address of one of its databases, as DATABASE_URL takes it."""
        return f"postgres://postgres@/{self.folder}/{database}"

    def start(self) -> None:
        """Make the cluster and wait until it answers."""
        # The server refuses to run as root, so then it runs as the account its package made.
        user = "postgres" if os.geteuid() == 0 else None
        self.folder.mkdir(mode=0o700)
        if user:
            shutil.chown(self.folder, user, pwd.getpwnam(user).pw_gid)
        data = str(self.folder / "data")
        make = [program("initdb", "postgresql"), "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8"]
        made = subprocess.run(
            dying_with_us([*make, "--locale=C.UTF-8", "--no-sync"], user=user),
            cwd=self.folder,
            capture_output=True,
            text=True,
        )
        if made.returncode:
            raise RuntimeError(f"initdb failed:\n{made.stdout}{made.stderr}")
        self.serve()

    def serve(self) -> None:
        """Start the cluster that is made, also once more, and wait until it answers."""
        user = "postgres" if os.geteuid() == 0 else None
        data = str(self.folder / "data")
        serve = [program("postgres", "postgresql"), "-D", data, "-k", str(self.folder)]
        for name, value in self._settings.items():
            serve += ["-c", f"{name}={value}"]
        with (self.folder / "log").open("wb") as log:
            self._process = subprocess.Popen(
                dying_with_us(serve, on_death="INT", user=user), cwd=self.folder, stdout=log, stderr=log
            )
        wait_until(self._answers, "PostgreSQL")

    def _answers(self) -> bool:
        if self._process is None or self._process.poll() is not None:
            raise RuntimeError(f"PostgreSQL ended at once:\n{(self.folder / 'log').read_text()}")
        try:
            psycopg.connect(host=str(self.folder), user="postgres", dbname="postgres").close()
        except psycopg.OperationalError:
            return False
        return True

    def die(self) -> None:
        """End it as a power cut would: nothing is finished, and the next start recovers from its log (SIGQUIT)."""
        if self._process is not None:
            end(self._process, with_signal=signal.SIGQUIT)

    def freeze(self) -> None:
        """Have it take connections and never answer, whoever is connected."""
        for pid in self._processes():
            os.kill(pid, signal.SIGSTOP)

    def thaw(self) -> None:
        """Have it go on where it was frozen."""
        for pid in self._processes():
            # One that served somebody who has gone may have ended since it was listed.
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGCONT)

    def _processes(self) -> list[int]:
        if self._process is None or self._process.poll() is not None:
            return []
        found = subprocess.run(
            [program("pgrep", "procps"), "-P", str(self._process.pid)], capture_output=True, text=True
        )
        return [self._process.pid, *map(int, found.stdout.split())]

    def stop(self) -> None:
        """End it, whoever is still connected."""
        if self._process is not None:
            end(self._process, with_signal=signal.SIGINT)


class Redis:
    """A Redis server in ``folder``, reached by a socket there; with these options nothing it holds is written down."""

    def __init__(self, folder: Path, options: Sequence[str] = ("--save", "", "--appendonly", "no")) -> None:
        self.folder, self.options = folder, options
        self._process: subprocess.Popen[bytes] | None = None

    @property
    def socket(self) -> Path:
        return self.folder / "redis.sock"

    @property
    def url(self) -> str:
        """Its address, as REDIS_URL takes it."""
        return f"redis+socket://{self.socket}"

    def client(self) -> redis.Redis:
        """A connection to look inside with."""
        return redis.Redis(unix_socket_path=str(self.socket))

    def start(self) -> None:
        """Start it, also once more, and wait until it answers."""
        self.folder.mkdir(mode=0o700, exist_ok=True)
        serve = [program("redis-server", "redis-server"), "--port", "0", "--unixsocket", str(self.socket)]
        serve += [*self.options, "--dir", str(self.folder)]
        with (self.folder / "log").open("wb") as log:
            self._process = subprocess.Popen(dying_with_us(serve, on_death="TERM"), stdout=log, stderr=log)
        wait_until(self._answers, "Redis")

    def _answers(self) -> bool:
        if self._process is None or self._process.poll() is not None:
            raise RuntimeError(f"Redis ended at once:\n{(self.folder / 'log').read_text()}")
        try:
            with self.client() as client:
                return bool(client.ping())
        except redis.ConnectionError:
            return False

    def fill(self) -> None:
        """Have it answer, and refuse to write anything down."""
        with self.client() as client:
            client.config_set("maxmemory", 1)

    def come_back_full(self) -> None:
        """End, and start again with no room for anything from the first moment."""
        self.stop()
        self.options = (*self.options, "--maxmemory", "1")
        self.start()

    def make_room(self) -> None:
        """Have it write things down again."""
        with self.client() as client:
            client.config_set("maxmemory", 0)

    def freeze(self) -> None:
        """Have it take connections and never answer."""
        if self._process is not None:
            self._process.send_signal(signal.SIGSTOP)

    def stop(self) -> None:
        """End it."""
        if self._process is not None:
            self._process.send_signal(signal.SIGCONT)
            end(self._process)


class Proxy:
    """HAProxy in front of a site on this machine; it adds the client's address to X-Forwarded-For, as proxies do."""

    def __init__(self, folder: Path, *, site_port: int) -> None:
        self.folder, self.site_port, self.port = folder, site_port, free_port()
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it and wait until it takes connections."""
        settings = self.folder / "haproxy.cfg"
        settings.write_text(
            "defaults\n  mode http\n  timeout connect 5s\n  timeout client 60s\n  timeout server 60s\n"
            f"listen book\n  bind 127.0.0.1:{self.port}\n  option forwardfor\n"
            "  http-request set-header X-Forwarded-Proto http\n"
            f"  server book 127.0.0.1:{self.site_port}\n"
        )
        serve = [program("haproxy", "haproxy"), "-db", "-f", str(settings)]
        with (self.folder / "haproxy.log").open("wb") as log:
            self._process = subprocess.Popen(dying_with_us(serve, on_death="TERM"), stdout=log, stderr=log)
        wait_until(lambda: takes_connections(self.port), "the proxy")

    def stop(self) -> None:
        """End it."""
        if self._process is not None:
            end(self._process)


def free_port() -> int:
    """A port of this machine for a server to listen on, within the next minute.

    A connection to it has just been closed, so that meanwhile the kernel gives it to nobody who asks for any port.
    """
    with socket.create_server(("127.0.0.1", 0)) as listening:
        address = listening.getsockname()
        with socket.create_connection(address):
            # The side that closes first is the one that keeps the port.
            listening.accept()[0].close()
    return int(address[1])


def takes_connections(port: int) -> bool:
    """Whether somebody listens on a port of this machine."""
    try:
        socket.create_connection(("127.0.0.1", port), timeout=5).close()
    except OSError:
        return False
    return True


def end(process: subprocess.Popen[bytes], *, with_signal: signal.Signals = signal.SIGTERM) -> None:
    """Ask a process to end, and after ten seconds make it."""
    process.send_signal(with_signal)
    try:
        process.wait(10)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
