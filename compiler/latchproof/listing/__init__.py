"""From rules to a setup listing: numbered entries that a pilot copies onto any transmitter by hand."""

from latchproof.listing.build import build
from latchproof.listing.model import Listing

__all__ = ["Listing", "build"]
