"""The middle of the program: what happens between a person's intent and what a screen shows."""
