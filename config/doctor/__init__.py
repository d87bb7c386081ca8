"""What `manage.py doctor` looks at: settings, servers and the machine, each in a sentence with what to do."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from config.doctor import front, machine, servers, site
from config.doctor.wrong import Wrong
from config.refusal import CannotStart
from config.showing import on_one_line

#: A check says what is right, or raises Wrong.
Check = Callable[[], str]
CHECKS: tuple[tuple[str, Check], ...] = (
    ("site", site.site),
    ("host", site.host),
    ("front", front.front),
    ("secrets", site.secrets),
    ("database", servers.database),
    ("tables", servers.tables),
    ("clock", servers.clock),
    ("queue", servers.queue),
    ("store", servers.store),
    ("folders", machine.folders),
    ("disk", machine.disk),
    ("printing", machine.printing),
    ("static files", machine.static_files),
    ("sender", site.sender),
    ("web hook", servers.hook),
    ("duty", servers.told),
)


@dataclass(frozen=True)
class Finding:
    """What one check found."""

    what: str
    is_right: bool
    words: str


def examine(*, mail_to: str | None) -> Iterator[Finding]:
    """Make every check, one after another; the last sends a mail to an address if one is given."""
    for what, check in (*CHECKS, ("mail", lambda: servers.mail(mail_to))):
        yield _found(what, check)


def _found(what: str, check: Check) -> Finding:
    try:
        return Finding(what, True, check())
    except (Wrong, CannotStart) as wrong:
        return Finding(what, False, str(wrong))
    except Exception as error:
        # Whatever is the matter with this one, the others still say what they find.
        said = on_one_line(f"{type(error).__name__}: {error}", longest=200)
        return Finding(what, False, f"This could not be looked at ({said}).")
