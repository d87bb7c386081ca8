"""The wing on bringing what a member has: a file of costs, fills or lessons, or a bank statement, becomes entries.

It is entered by its addresses alone. The file is never kept: its cells travel in the page, and each request reads them
again from scratch.
"""
