"""What is plausible of money and lessons; `fleet.core.plausible` has the types, the usual range, and the odometer."""
