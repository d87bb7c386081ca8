"""The wing on what a car cost: the statement of a period, why it moved since another, and what looks odd in it.

It is entered by its addresses and its `report` alone.
"""
