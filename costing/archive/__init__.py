"""The whole book as plain CSV files, in and out.

``tables`` and ``condition`` say what each file holds, ``cells`` and ``rules`` what may stand in it; ``sources``
and ``reading`` turn a folder or zip into rows, ``checking`` holds them against each other and the book
(``references``, ``odometer``, ``defects``, ``completions``), and ``loading`` and ``dumping`` are the two doors.
"""
