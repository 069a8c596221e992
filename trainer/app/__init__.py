"""The composition root: the only room that knows all others. Builds adapters and carries commands out."""
