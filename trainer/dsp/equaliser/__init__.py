"""Filters whose digital curve follows the analogue one up to the top."""
