"""A throw-away S3-compatible store on a free port of this machine, for tests of what the book keeps in one."""

from collections.abc import Iterator
from contextlib import contextmanager
from urllib.request import Request, urlopen

from config.environment import ObjectStore

BUCKET = "book"


@contextmanager
def object_server() -> Iterator[ObjectStore]:
    """A store with an empty bucket; gone afterwards."""
    import boto3
    from moto.server import ThreadedMotoServer

    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    try:
        host, port = server.get_host_and_port()
        # What another test of this process has put into one is still there.
        urlopen(Request(f"http://{host}:{port}/moto-api/reset", method="POST")).close()
        store = ObjectStore(f"http://{host}:{port}", BUCKET, "ours", "us-east-1", "key", "secret")
        client = boto3.client(
            "s3",
            endpoint_url=store.endpoint,
            region_name=store.region,
            aws_access_key_id=store.key,
            aws_secret_access_key=store.secret,
        )
        client.create_bucket(Bucket=BUCKET)
        yield store
    finally:
        server.stop()


def url_of(store: ObjectStore) -> str:
    """The setting that names it."""
    return f"s3+http://{store.key}:{store.secret}@{store.endpoint.partition('://')[2]}/{store.bucket}/{store.folder}"
