"""Looking at one address: asking there, and noting whatever is wrong with the answers."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from functools import partial
from types import SimpleNamespace
from typing import Any
from urllib.parse import unquote, urlencode, urlsplit

from django.apps import apps
from django.db.models import Model, Q

from fleet.models import CalendarFeed, Photo
from instructors.models import Act
from instructors.notification import act_mails_to_send, deliver_act_mail
from tests.matrix.asking import SIGN_IN, Answer, Asker
from tests.matrix.roles import INVITED, KEEPER, LOG
from tests.matrix.rows import Row
from tests.matrix.world import World

#: Answers that are a no: after them nothing may have been written.
REFUSALS = (SIGN_IN, 400, 403, 404, 405, 410)
READS = ("GET", "HEAD")
#: Rows by model.
Money = dict[str, list[tuple[object, ...]]]


@dataclass
class Look:
    """A look at the address of ``row``; ``faults`` is what was wrong, one line each."""

    asker: Asker
    row: Row
    faults: list[str] = field(default_factory=list)
    #: What was written by only looking, and secrets that are in the log.
    written: set[str] = field(default_factory=set)
    logged: set[str] = field(default_factory=set)

    def ask(
        self,
        role: str,
        method: str,
        its: SimpleNamespace,
        expected: Collection[int | str],
        *,
        query: str = "",
        data: Mapping[str, Any] | None = None,
        htmx: bool = False,
    ) -> Answer:
        """Ask, and note what is wrong with the answer; by POST, whether anybody else's money was touched too."""
        address = self.row.address(its) + (f"?{query}" if query else "")
        world = self.asker.world
        answer = self.asker.ask(role, method, address, data=data, htmx=htmx, watch=partial(After.of, world))
        how = f"{role}: {method} {address}{' by htmx' if htmx else ''}{' filled in' if data else ''}"
        wrong = self._leaks(role, answer, sent=unquote(address) + unquote(urlencode(data or {}, doseq=True)))
        if answer.status not in expected:
            wrong.append(f"answers {answer.status}, not {' or '.join(map(str, expected))}")
        if answer.written and method in READS:
            self.written |= set(answer.written)
        elif answer.written and answer.status in REFUSALS:
            wrong.append(f"writes {answer.written[0][:80]}")
        if answer.watched is not None:
            if role != KEEPER:
                touched = [model for model in answer.watched.touched if model not in self.row.ends]
                wrong += [f"touches the keeper's {model}" for model in touched]
            wrong += [f"writes {what} into a record" for what in world.canaries.private_in(answer.watched.recorded)]
        self.faults += [f"{how} {what}" for what in wrong]
        return answer

    def note(self, fault: str) -> None:
        self.faults.append(fault)

    def _leaks(self, role: str, answer: Answer, *, sent: str) -> list[str]:
        """What an answer tells whom, though it is not theirs to know."""
        world = self.asker.world
        found = [f"shows {what}" for what in world.canaries.seen(role, answer.told, sent=sent)]
        self.logged |= set(world.canaries.seen(LOG, answer.logged))
        for address, words in answer.mails:
            reader = next((name for name, member in world.members.items() if member.email == address), INVITED)
            seen = world.canaries.seen(reader, words, sent=sent)
            found += [f"mails {what} to {reader}" for what in seen]
        if urlsplit(answer.location).netloc:
            found.append(f"leads away to {answer.location}")
        return [fault for fault in found if not any(part in fault for part in self.row.tells)]


@dataclass(frozen=True)
class After:
    """What became of the book in which something was written: what of the keeper's is otherwise, and new acts."""

    touched: list[str]
    recorded: str

    @classmethod
    def of(cls, world: World, written: list[str]) -> "After":
        """Looks only where the statements wrote; mails about acts that wait to be sent are sent."""
        money = money_of(world.now, written)
        touched = [model for model, rows in money.items() if rows != world.untouched[model]]
        acts = Act.objects.none()
        if any(_is_to(Act, statement) for statement in written):
            for mail_id in act_mails_to_send():
                deliver_act_mail(mail_id)
            acts = Act.objects.filter(pk__gt=world.last_act)
        words = acts.values_list("subject", "about", "field", "was", "now")
        return cls(touched, "\n".join(" ".join(act) for act in words))


def _is_to(model: type[Model], statement: str) -> bool:
    return f'"{model._meta.db_table}"' in statement


def money_of(its: SimpleNamespace, written: Collection[str] | None = None) -> Money:
    """Every row of somebody's money and secrets, and anybody's on their car, by model; of those ``written``, if given.

    Whatever is deleted is deleted by statements of its own: the database by itself takes nothing along.
    """
    rows: list[tuple[type[Model], Q]] = [
        (CalendarFeed, Q(member=its.member)),
        (Photo, Q(taken_by=its.member, is_of_defect=False)),
    ]
    for model in apps.get_app_config("costing").get_models():
        names = {field.name for field in model._meta.concrete_fields}
        if {"car", "member"} <= names:
            rows.append((model, Q(member=its.member) | Q(car=its.car)))
        elif "member" in names:
            rows.append((model, Q(member=its.member)))
        elif "comparison" in names:
            rows.append((model, Q(comparison__member=its.member)))
    if written is not None:
        rows = [(model, q) for model, q in rows if any(_is_to(model, statement) for statement in written)]
    return {model.__name__: list(model._default_manager.filter(q).order_by("pk").values_list()) for model, q in rows}
