"""The car pages, the page of a member's own, and what was reminded of."""
