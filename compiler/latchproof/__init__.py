"""Safety rules for radio-control models: written, sized, proved, and listed for copying into a transmitter."""

__version__ = "0.1.0"
