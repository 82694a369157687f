"""Names of the built-in descriptions; alone, because a command line that only offers them is to start at once."""

NAMES = ("small", "typical", "rich")
