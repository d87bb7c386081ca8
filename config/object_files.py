"""Files in an S3-compatible store, by django-storages. Imported only where a store is set up: boto3 is slow to load."""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import PurePosixPath
from typing import Any

from boto3.exceptions import Boto3Error
from boto3.s3.transfer import TransferConfig
from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError
from django.core.files.base import File
from storages.backends.s3 import S3Storage

from config.environment import ObjectStore
from config.showing import on_one_line

#: Bytes of an object that are held in the memory; more of it waits on the disk while it is read.
_IN_MEMORY = 1_000_000
#: Bytes from which an object is sent in pieces, of which a killed process would leave some in the store.
_IN_ONE_PIECE = 4_000_000_000
_MISSING = {"404", "NoSuchKey", "NotFound"}


class ObjectFiles(S3Storage):
    """The files of one bucket, or of a folder in it: an object is there whole or not at all.

    All of it raises OSError if the store cannot be reached or refuses, and FileNotFoundError for what is not there.
    """

    def __init__(self, store: ObjectStore, *, overwrites: bool = False) -> None:
        super().__init__(
            access_key=store.key,
            secret_key=store.secret,
            bucket_name=store.bucket,
            location=store.folder,
            endpoint_url=store.endpoint,
            region_name=store.region,
            client_config=_PATIENT,
            transfer_config=TransferConfig(multipart_threshold=_IN_ONE_PIECE, use_threads=False),
            max_memory_size=_IN_MEMORY,
            file_overwrite=overwrites,
        )

    def _open(self, name: str, mode: str = "rb") -> File:
        with _as_os_errors():
            file = super()._open(name, mode)
            # All of it now, so that nothing can go wrong half-way through an answer.
            return file.open()

    def _save(self, name: str, content: File) -> str:
        with _as_os_errors():
            return str(super()._save(name, content))

    def delete(self, name: str) -> None:
        """Delete an object, if it is there."""
        with _as_os_errors():
            super().delete(name)

    def exists(self, name: str) -> bool:
        """Whether it is there; a folder, which is a name without an ending, is if something is in it."""
        with _as_os_errors():
            return super().exists(name) or (not PurePosixPath(name).suffix and any(map(bool, super().listdir(name))))

    def listdir(self, path: str) -> tuple[list[str], list[str]]:
        """The folders and the objects in a folder."""
        with _as_os_errors():
            return super().listdir(path)

    def get_modified_time(self, name: str) -> Any:
        """When it was written."""
        with _as_os_errors():
            return super().get_modified_time(name)

    def names(self) -> Iterator[str]:
        """The names of all objects."""
        begin = f"{self.location}/" if self.location else ""
        with _as_os_errors():
            for found in self.bucket.objects.filter(Prefix=begin):
                yield found.key.removeprefix(begin)


#: Path-style, as every store understands it, and without the newer sums that some do not know.
_PATIENT = Config(
    s3={"addressing_style": "path"},
    signature_version="s3v4",
    connect_timeout=5,
    read_timeout=60,
    retries={"max_attempts": 2, "mode": "standard"},
    request_checksum_calculation="when_required",
    response_checksum_validation="when_required",
)


@contextmanager
def _as_os_errors() -> Iterator[None]:
    """What a disk would raise, with the store's own words."""
    try:
        yield
    except ClientError as error:
        told = error.response.get("Error", {})
        if told.get("Code") in _MISSING:
            raise FileNotFoundError(errno.ENOENT, "it is not in the store") from error
        said = on_one_line(f"{told.get('Code', '')} {told.get('Message', '')}".strip(), longest=120)
        raise OSError(errno.EIO, f"the store refused ({said})") from error
    except (BotoCoreError, Boto3Error) as error:
        raise OSError(errno.EIO, f"the store cannot be reached ({type(error).__name__})") from error
