"""What the cells of a file say, without a database: days, sums, hours, columns, and what looks like what."""
