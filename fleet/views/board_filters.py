"""The filters of the board as its address has them, and in words."""

from urllib.parse import urlencode

from django.http import QueryDict

from fleet.core.board import OBLIGATIONS, Urgency
from fleet.forms import LONGEST_SEARCH, WITHIN
from fleet.queries import Board, BoardFilters
from fleet.views.board_words import URGENCY_WORDS

#: The longest number of a row in either database.
_LONGEST_ID = 18


def filters_of(asked: QueryDict) -> BoardFilters:
    """The filters in the address; what is none is ignored."""
    keeper = asked.get("kept_by", "")
    is_id = keeper.isascii() and keeper.isdecimal() and len(keeper) <= _LONGEST_ID
    return BoardFilters(
        text=asked.get("q", "").strip()[:LONGEST_SEARCH],
        keeper_id=int(keeper) if is_id else None,
        obligation=asked.get("kind", "") if asked.get("kind") in OBLIGATIONS else "",
        urgency=next((urgency for urgency in Urgency if urgency == asked.get("state")), None),
        within=next((days for days in WITHIN if str(days) == asked.get("within")), None),
    )


def asked_for(filters: BoardFilters) -> dict[str, object]:
    """The filters in force by their names in an address."""
    parts = {
        "q": filters.text,
        "kept_by": filters.keeper_id,
        "kind": filters.obligation,
        "state": filters.urgency,
        "within": filters.within,
    }
    return {name: value for name, value in parts.items() if value}


def address_of(filters: BoardFilters) -> str:
    """The filters in force as an address has them; empty without any."""
    return urlencode(asked_for(filters))


def filter_words(board: Board) -> list[str]:
    """What the filters in force ask for; empty without any."""
    filters = board.filters
    words = []
    if filters.text:
        words.append(f"\u201c{filters.text}\u201d in mark, keeper or description")
    words += [f"kept by {keeper.name}" for keeper in board.keepers if keeper.pk == filters.keeper_id]
    if filters.obligation:
        state = URGENCY_WORDS[filters.urgency] if filters.urgency else "something to do"
        words.append(f"{OBLIGATIONS[filters.obligation].words}: {state}")
    elif filters.urgency:
        words.append(URGENCY_WORDS[filters.urgency])
    if filters.within:
        words.append(f"off the road, overdue, not known, or due within {filters.within} days")
    return words
