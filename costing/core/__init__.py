"""The arithmetic of the book: plain records in, whole pence and miles out.

Nothing here uses Django, a clock or a setting; words and formatting belong to the pages.
"""
