"""The whole book as plain CSV files, in and out.

``tables`` and ``condition`` say what each file holds; ``cells`` and ``rules`` say what a cell and a row may hold.
``sources`` and ``reading`` turn a folder or zip into rows. ``checking`` compares them with each other and the book
(with ``references``, ``odometer``, ``defects`` and ``completions``). ``loading`` is the way in and
``dumping`` the way out.
"""
