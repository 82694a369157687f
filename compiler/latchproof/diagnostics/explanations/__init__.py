"""The explanations themselves, an area a file."""
