"""Choosing the next car: offers on one footing, from a quote to the decision, all in this one folder.

From outside only two doors are used: its addresses (``urls``) and its report (``report``).
"""
