"""Drills and trials: what is asked, made of which sound, and how an answer is judged."""
