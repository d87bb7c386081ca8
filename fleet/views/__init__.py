"""The pages about cars and reminders, and a member's own page."""
