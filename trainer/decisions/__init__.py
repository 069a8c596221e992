"""Decisions: what a file's figures mean for mastering and for delivery."""
