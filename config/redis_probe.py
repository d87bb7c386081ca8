"""Redis, asked at its own address whether it takes anything, by whoever can do without its answer."""

import redis
from django.conf import settings

#: What is put into Redis to see whether it takes anything, and for how many seconds.
_TAKES, _KEPT_FOR = "book:takes", 20


def redis_client(patience: float) -> redis.Redis:
    """A connection, to be used in ``with``, that waits ``patience`` seconds for an answer and no longer."""
    address = settings.REDIS_URL.replace("redis+socket://", "unix://")
    return redis.Redis.from_url(address, socket_timeout=patience, socket_connect_timeout=patience)


def require_room(client: redis.Redis) -> None:
    """Write something down.

    Raises redis.ResponseError if Redis answers and takes nothing, as one whose memory is full, or which cannot write to
    its disk; another redis.RedisError if it does not answer.
    """
    client.set(_TAKES, "", ex=_KEPT_FOR)
