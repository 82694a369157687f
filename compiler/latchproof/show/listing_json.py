"""A listing as JSON, schema `latchproof.listing/1`: the fields of the listing under their own names."""

import json
from dataclasses import asdict

from latchproof.listing.model import Listing

SCHEMA = "latchproof.listing/1"


def render(listing: Listing) -> str:
    # Only ASCII is written, so that no terminal acts on what stands in a rule file.
    return json.dumps({"schema": SCHEMA, **asdict(listing)}, indent=2, ensure_ascii=True)
