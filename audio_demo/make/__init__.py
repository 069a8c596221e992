"""The workshop in which the demo songs are made: development only, the trainer never imports it."""
