"""The wing on what is coming: takings, what to charge, and the weekly pot.

It is entered by its addresses and its `report` alone.
"""
