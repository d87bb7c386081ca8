"""A throw-away S3-compatible store on a free port of this machine, for tests of what the book keeps in one."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

from config.environment import ObjectStore
from tests.processes import OtherProcess, environment
from tests.servers import free_port, takes_connections, wait_until

BUCKET = "book"


@contextmanager
def object_server() -> Iterator[ObjectStore]:
    """A store with an empty bucket; gone afterwards."""
    from moto.server import ThreadedMotoServer

    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    try:
        host, port = server.get_host_and_port()
        # What another test of this process has put into one is still there.
        urlopen(Request(f"http://{host}:{port}/moto-api/reset", method="POST")).close()
        yield _with_bucket(port)
    finally:
        server.stop()


@contextmanager
def object_process(folder: Path) -> Iterator[tuple[ObjectStore, OtherProcess]]:
    """The same in a process of its own, which may be frozen; what it prints is written into ``folder``."""
    port = free_port()
    command = [sys.executable, "-m", "moto.server", "-H", "127.0.0.1", "-p", str(port)]
    with OtherProcess(command, log=folder / "object-server.log", environment=environment()) as process:
        wait_until(lambda: takes_connections(port), "the store")
        try:
            yield _with_bucket(port), process
        finally:
            process.kill()


def _with_bucket(port: int) -> ObjectStore:
    import boto3

    store = ObjectStore(f"http://127.0.0.1:{port}", BUCKET, "ours", "us-east-1", "key", "secret")
    client = boto3.client(
        "s3",
        endpoint_url=store.endpoint,
        region_name=store.region,
        aws_access_key_id=store.key,
        aws_secret_access_key=store.secret,
    )
    client.create_bucket(Bucket=BUCKET)
    return store


def kept_in(store: ObjectStore, settings: Any) -> None:
    """Have the files of this process's book lie in the store."""
    settings.FILES_URL = store
    backend = {"BACKEND": "config.object_files.ObjectFiles", "OPTIONS": {"store": store}}
    settings.STORAGES = settings.STORAGES | {"default": backend}


def url_of(store: ObjectStore) -> str:
    """The setting that names it."""
    return f"s3+http://{store.key}:{store.secret}@{store.endpoint.partition('://')[2]}/{store.bucket}/{store.folder}"
