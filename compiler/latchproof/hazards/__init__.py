"""Dangers that nobody wrote a promise about: the checks that every rule set needs, made and proved by themselves."""
