"""A person's own mix, led through six steps to a decision sheet and a checked file."""
