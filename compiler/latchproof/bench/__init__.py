"""The bench test: every slip a hand can make when copying the entries, and one short list of things to do that shows
them."""
