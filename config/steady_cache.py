"""The cache in Redis, made so that the book can do without Redis: meanwhile each process remembers for itself.

What is counted there (``config.limits``) is then counted by process, so that limits hold more loosely but do hold.
"""

from collections.abc import Callable, Mapping
from typing import Any

from django.core.cache.backends.locmem import LocMemCache
from django.core.cache.backends.redis import RedisCache
from redis.exceptions import RedisError

from config.outage import REDIS, REDIS_PATIENCE


def _steady(name: str) -> Callable[..., Any]:
    """The method ``name`` of the cache in Redis, or of this process's own while Redis does not answer."""

    def method(self: "SteadyCache", *arguments: Any, **named: Any) -> Any:
        if not REDIS.is_on():
            try:
                found = getattr(RedisCache, name)(self, *arguments, **named)
                REDIS.forget()
                return found
            except (RedisError, OSError) as error:
                REDIS.begin(error)
        return getattr(self.own, name)(*arguments, **named)

    return method


class SteadyCache(RedisCache):
    """Django's cache in Redis, which never raises an error of Redis and never waits for it long."""

    def __init__(self, server: str, params: Mapping[str, Any]) -> None:
        given = {"socket_timeout": REDIS_PATIENCE, "socket_connect_timeout": REDIS_PATIENCE}
        super().__init__(server, {**params, "OPTIONS": given | dict(params.get("OPTIONS", {}))})
        # Enough entries that nobody can push another client's count of tries out of it.
        self.own = LocMemCache("while Redis is gone", {"OPTIONS": {"MAX_ENTRIES": 100_000}})

    add = _steady("add")
    get = _steady("get")
    set = _steady("set")
    touch = _steady("touch")
    delete = _steady("delete")
    get_many = _steady("get_many")
    has_key = _steady("has_key")
    incr = _steady("incr")
    set_many = _steady("set_many")
    delete_many = _steady("delete_many")
    clear = _steady("clear")
