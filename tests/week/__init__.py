"""Weeks of practice with simulated people, through the session as it is: without sound, and with known ears."""
