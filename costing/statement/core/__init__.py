"""Pure: the parts of a change, and what looks odd, from records of the costing core."""
