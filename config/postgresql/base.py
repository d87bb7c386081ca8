"""Django's PostgreSQL, except that a page gives up a server that does not answer.

Neither Django nor the driver bounds the wait for an answer, and the server's own limits are of no use if the server
hangs. A question that takes long, or waits for a lock, is waited for as long as the server takes other connections.
"""

from collections.abc import Mapping
from types import ModuleType
from typing import Any

import psycopg
from django.db.backends.postgresql import base
from psycopg import generators, waiting
from psycopg.conninfo import make_conninfo
from psycopg.errors import _WaitTimeout

from config.outage import DATABASE
from config.page import is_within_a_page

#: Seconds until the server is suspected, and that it then has to take a connection: within two, a page has answered.
_PATIENCE, _TO_CONNECT = 1.0, 0.5
#: What the driver's ``connect`` takes that is no part of an address.
_NO_ADDRESS = {"autocommit", "prepare_threshold", "context", "row_factory", "cursor_factory"}


class Unanswered(psycopg.OperationalError):
    """The server does not answer."""


class CommitUnclear(psycopg.OperationalError):
    """The connection was lost while a transaction was committed: nobody knows whether it was."""


class PatientConnection(psycopg.Connection):
    """A connection whose waits end, within a page, if the server hangs."""

    #: How another connection to the server is made; set once this one is.
    address = ""

    def wait(self, gen: Any, interval: float = 0.1, timeout: float | None = None) -> Any:
        """What the driver's own gives. Raises Unanswered, and closes the connection, if the server hangs."""
        if timeout is not None or not self.address or not is_within_a_page():
            return super().wait(gen, interval, timeout)
        try:
            return super().wait(gen, interval, _PATIENCE)
        except _WaitTimeout:
            try:
                require_answer(self.address)
            except Unanswered:
                self.close()
                raise
        return super().wait(gen, interval)

    def commit(self) -> None:
        """Commit. Raises CommitUnclear if the connection is lost meanwhile."""
        try:
            super().commit()
        except psycopg.OperationalError as error:
            raise CommitUnclear(*error.args) from error


def require_answer(address: str) -> None:
    """Raise Unanswered unless the server at ``address`` takes a connection soon, or did not a moment ago."""
    if DATABASE.is_on():
        raise Unanswered("the server did not answer a moment ago")
    try:
        waiting.wait_conn(generators.connect(address), interval=0.1, timeout=_TO_CONNECT).finish()
    except _WaitTimeout as error:
        DATABASE.begin(error)
        raise Unanswered("the server does not answer") from None
    DATABASE.forget()


#: The driver, which makes such connections.
_driver = ModuleType(psycopg.__name__)
vars(_driver).update(vars(psycopg), connect=PatientConnection.connect)


class DatabaseWrapper(base.DatabaseWrapper):
    """Django's own, with such connections."""

    Database = _driver

    def get_new_connection(self, conn_params: Mapping[str, Any]) -> PatientConnection:
        """A new connection. Raises Unanswered in time if the server hangs and a page wants it."""
        address = make_conninfo(**{name: value for name, value in conn_params.items() if name not in _NO_ADDRESS})
        if is_within_a_page():
            require_answer(address)
        connection: PatientConnection = super().get_new_connection(conn_params)
        connection.address = address
        return connection
