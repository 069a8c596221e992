"""The fault scan: what should not be in a file, where, how strong, on which side."""
