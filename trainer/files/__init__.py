"""Files: sound in and out, YAML, folders, pictures."""
