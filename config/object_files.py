"""Files in an S3-compatible store, by django-storages. Imported only where a store is set up: boto3 is slow to load."""

import errno
import logging
import threading
from collections.abc import Collection, Iterator
from contextlib import contextmanager, nullcontext
from pathlib import PurePosixPath
from time import monotonic
from typing import Any

from boto3.exceptions import Boto3Error
from boto3.resources.base import ServiceResource
from boto3.s3.transfer import TransferConfig
from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError
from django.core.files.base import File
from storages.backends.s3 import S3Storage

from config.environment import ObjectStore
from config.outage import Outage
from config.page import is_within_a_page
from config.showing import on_one_line
from config.whole_files import StoreAway

logger = logging.getLogger(__name__)

#: Bytes of an object that are held in the memory; more of it waits on the disk while it is read.
_IN_MEMORY = 1_000_000
#: Bytes from which an object is sent in pieces, of which a killed process would leave some in the store.
_IN_ONE_PIECE = 4_000_000_000
_MISSING = {"404", "NoSuchKey", "NotFound"}
#: Seconds for which a store that could not be reached is not tried again, so that not everybody waits for it.
_LEFT_ALONE = 10
#: Seconds after which it is said that something is waited for, and between two such lines.
_SAID_AFTER, _SAID_AGAIN = 4, 60


class ObjectFiles(S3Storage):
    """The files of one bucket, or of a folder in it: an object is there whole or not at all.

    All of it raises StoreAway if the store cannot be reached or refuses, and FileNotFoundError for what is not there.
    Pages, and whoever ``hurries``, give up after seconds. The worker, the schedule and commands wait for a slow store,
    and say so. A store that did not answer either of the two is then left alone by it for some seconds.
    """

    def __init__(self, store: ObjectStore, *, overwrites: bool = False, hurries: bool = False) -> None:
        self.store, self._hurries = store, hurries
        self._ways: dict[bool, ServiceResource] = {}
        self._outages = {hurried: Outage(str(store), _LEFT_ALONE) for hurried in (False, True)}
        self._making, self._said_at = threading.Lock(), -float(_SAID_AGAIN)
        super().__init__(
            access_key=store.key,
            secret_key=store.secret,
            bucket_name=store.bucket,
            location=store.folder,
            endpoint_url=store.endpoint,
            region_name=store.region,
            max_memory_size=_IN_MEMORY,
            file_overwrite=overwrites,
        )

    @property
    def is_hurried(self) -> bool:
        """Whether whoever asks now is kept waiting for seconds only."""
        return self._hurries or is_within_a_page()

    @property
    def connection(self) -> ServiceResource:
        """The way to the store for whoever asks: all of the two sorts share one, with the connections that it keeps."""
        with self._making:
            if (hurried := self.is_hurried) not in self._ways:
                self._ways[hurried] = self._create_session().resource(
                    "s3",
                    region_name=self.region_name,
                    endpoint_url=self.endpoint_url,
                    config=_HURRIED if hurried else _PATIENT,
                )
            return self._ways[hurried]

    @property
    def bucket(self) -> Any:
        """The bucket, by the way of whoever asks."""
        return self.connection.Bucket(self.bucket_name)

    @property
    def transfer_config(self) -> TransferConfig:
        """How an object comes and goes."""
        attempts = 1 if self.is_hurried else 3
        return TransferConfig(multipart_threshold=_IN_ONE_PIECE, use_threads=False, num_download_attempts=attempts)

    @transfer_config.setter
    def transfer_config(self, _: object) -> None:
        """Django-storages sets each of its settings."""

    def _open(self, name: str, mode: str = "rb") -> File:
        with self._asked():
            try:
                file = super()._open(name, mode)
                # All of it now, so that nothing can go wrong half-way through an answer.
                return file.open()
            except FileNotFoundError:
                # Asked for an object, a store does not say whether its whole bucket is gone.
                self._is_there(self._key_of(name))
                raise

    def _save(self, name: str, content: File) -> str:
        with self._asked():
            return str(super()._save(name, content))

    def delete(self, name: str) -> None:
        """Delete an object, if it is there."""
        with self._asked():
            super().delete(name)

    def exists(self, name: str) -> bool:
        """Whether it is there; a folder, which is a name without an ending, is if something is in it."""
        with self._asked():
            return self._is_there(self._key_of(name) + ("" if PurePosixPath(name).suffix else "/"))

    def listdir(self, path: str) -> tuple[list[str], list[str]]:
        """The folders and the objects in a folder."""
        with self._asked():
            return super().listdir(path)

    def get_modified_time(self, name: str) -> Any:
        """When it was written."""
        with self._asked():
            return super().get_modified_time(name)

    def names(self) -> Iterator[str]:
        """The names of all objects."""
        return iter(self._sizes_in(""))

    def sizes_of(self, names: Collection[str]) -> dict[str, int]:
        """The bytes of those of these objects that are there, by name; asked once a folder, not once an object."""
        there: dict[str, int] = {}
        for folder in {name.rpartition("/")[0] for name in names}:
            there |= self._sizes_in(f"{folder}/" if folder else "")
        return {name: there[name] for name in names if name in there}

    def _sizes_in(self, folder: str) -> dict[str, int]:
        """The bytes of all objects whose names begin so."""
        begin = f"{self.location}/" if self.location else ""
        with self._asked():
            found = self.bucket.objects.filter(Prefix=begin + folder)
            return {one.key.removeprefix(begin): one.size for one in found}

    def _key_of(self, name: str) -> str:
        return f"{self.location}/{name}" if self.location else name

    def _is_there(self, key: str) -> bool:
        """Whether there is an object of this key, or in the folder of this key, which then ends in a slash."""
        return any(one.key == key or key.endswith("/") for one in self.bucket.objects.filter(Prefix=key).limit(1))

    @contextmanager
    def _asked(self) -> Iterator[None]:
        """What a disk would raise; StoreAway at once while the store is left alone."""
        outage = self._outages[self.is_hurried]
        if outage.is_on():
            raise StoreAway(errno.EIO, "the store could not be reached a moment ago", str(self.store))
        try:
            with nullcontext() if self.is_hurried else self._saying_what_is_waited_for():
                yield
        except ClientError as error:
            outage.forget()
            raise self._as_os_error(error) from error
        except (BotoCoreError, Boto3Error) as error:
            outage.begin(error)
            raise StoreAway(
                errno.EIO, f"the store cannot be reached ({type(error).__name__})", str(self.store)
            ) from error
        except OSError:
            outage.forget()
            raise
        outage.forget()

    def _as_os_error(self, error: ClientError) -> OSError:
        """What a disk would raise, with the store's own words."""
        told = error.response.get("Error", {})
        if told.get("Code") in _MISSING:
            return FileNotFoundError(errno.ENOENT, "it is not in the store")
        status = error.response.get("ResponseMetadata", {}).get("HTTPStatusCode")
        code = on_one_line(f"{told.get('Code', '')} {told.get('Message', '')}".strip(), longest=100)
        said = f"the store refused ({code}, HTTP {status})"
        logger.warning("%s: %s %s", self.store, error.operation_name, said)
        return StoreAway(errno.EIO, said, str(self.store))

    @contextmanager
    def _saying_what_is_waited_for(self) -> Iterator[None]:
        later = threading.Timer(_SAID_AFTER, self._say_what_is_waited_for)
        later.daemon = True
        later.start()
        try:
            yield
        finally:
            later.cancel()

    def _say_what_is_waited_for(self) -> None:
        """Say it now and then, not of each of many slow answers."""
        if monotonic() - self._said_at >= _SAID_AGAIN:
            self._said_at = monotonic()
            logger.warning(
                "Waiting for the store %s; it is given up after %d s without a word from it", self.store, _GIVEN_UP
            )


#: Path-style, as every store understands it, and without the newer sums that some do not know.
_SPOKEN = Config(
    s3={"addressing_style": "path"},
    signature_version="s3v4",
    request_checksum_calculation="when_required",
    response_checksum_validation="when_required",
)
#: How often it is asked, and the seconds of silence after which it is asked again.
_ATTEMPTS, _SILENCE = 3, 30
_GIVEN_UP = _ATTEMPTS * _SILENCE
_PATIENT = _SPOKEN.merge(
    Config(connect_timeout=5, read_timeout=_SILENCE, retries={"total_max_attempts": _ATTEMPTS, "mode": "standard"})
)
#: Somebody waits for a page, and holds one of the few threads that answer.
_HURRIED = _SPOKEN.merge(Config(connect_timeout=2, read_timeout=3, retries={"total_max_attempts": 1}))
