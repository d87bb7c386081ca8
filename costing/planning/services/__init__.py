"""Rows in and out: takings, what a member plans to charge, and the weekly pot. Nobody else ever sees or changes one."""
