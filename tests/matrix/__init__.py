"""Every address of the book, asked by everybody, in every way: nobody's money or words reach anybody else.

``world`` is who there is and what they have, ``canaries`` how what is theirs is known again, ``table`` one row for each
address, ``asking`` how a browser asks and what is looked at in the answer.
"""
