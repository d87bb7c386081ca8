"""What a test and its worker with a movable clock tell each other in Redis."""

#: The moment it is while a task runs (ISO), and how many tasks were sent and done.
MOMENT, SENT, DONE = "book:moment", "book:sent", "book:done"
