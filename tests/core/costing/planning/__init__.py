"""What to charge, takings and the weekly pot."""
