"""Sessions in the database, where a database out of reach is told from a session that was ended meanwhile."""

from django.contrib.sessions.backends import db
from django.contrib.sessions.backends.base import UpdateError
from django.db import InterfaceError, OperationalError


class SessionStore(db.SessionStore):
    """Django's own, which takes any failure to write for a session that is gone, and has 400 answered."""

    def save(self, must_create: bool = False) -> None:
        """Write the session. Raises OperationalError or InterfaceError if the database cannot be asked just now."""
        try:
            super().save(must_create)
        except UpdateError as error:
            if isinstance(error.__context__, OperationalError | InterfaceError):
                raise error.__context__ from error.__context__.__cause__
            raise
