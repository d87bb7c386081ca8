"""How much work the book takes, beside the least that the same task could take: `make bench`."""
