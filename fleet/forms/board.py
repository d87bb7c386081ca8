"""The filters of the board."""

from collections.abc import Collection, Iterable
from typing import Any

from django import forms

from config.fields import unmarked
from fleet.core.board import OBLIGATIONS

#: In days.
WITHIN = (7, 30, 90)
#: Nothing that is searched in is longer.
LONGEST_SEARCH = 120
_ANY = ("", "Any")
#: Whom one still finds in a choice; beyond, the search finds them by name.
_MOST_KEEPERS = 60


class BoardFilterForm(forms.Form):
    """What of the board is asked for. It only shows the filters in force: the address itself holds them.

    ``initial`` has them by the names of the fields.
    """

    q = unmarked(
        forms.CharField(
            label="Search",
            required=False,
            max_length=LONGEST_SEARCH,
            help_text="Part of a mark, a keeper's name or a description.",
            widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
        )
    )
    kept_by = unmarked(forms.ChoiceField(label="Keeper", required=False))
    kind = unmarked(
        forms.ChoiceField(
            label="Obligation",
            required=False,
            choices=[_ANY, *((one.name, one.words) for one in OBLIGATIONS.values())],
            help_text="Alone, it keeps the cars on which something must be done about it.",
        )
    )
    state = unmarked(forms.ChoiceField(label="State", required=False))
    within = unmarked(
        forms.ChoiceField(
            label="Due within",
            required=False,
            choices=[_ANY, *((str(days), f"{days} days") for days in WITHIN)],
            help_text="What is off the road, overdue or not known is shown too.",
        )
    )

    def __init__(
        self, initial: dict[str, Any], *, keepers: Collection[tuple[int, str]], states: Iterable[tuple[str, str]]
    ) -> None:
        super().__init__(initial=initial, label_suffix="")
        self.fields["state"].choices = [_ANY, *states]  # type: ignore[attr-defined]
        if 1 < len(keepers) <= _MOST_KEEPERS:
            self.fields["kept_by"].choices = [_ANY, *keepers]  # type: ignore[attr-defined]
        else:
            del self.fields["kept_by"]
