"""What a transmitter can do and how it does it, in the pilot's words: read from a text file, or asked for."""
