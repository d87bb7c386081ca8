"""Rows in and out: takings, and what a member plans to charge. Nobody else ever sees or changes one."""
