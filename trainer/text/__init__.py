"""The program in a terminal."""
