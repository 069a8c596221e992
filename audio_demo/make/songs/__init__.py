"""The songs: for each a score (what is played) and a mix (how it sounds)."""
