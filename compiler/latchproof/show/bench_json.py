"""The card of a bench test as JSON, schema `latchproof.bench/1`: its fields under their own names."""

import json
from dataclasses import asdict

from latchproof.bench.card import Card

SCHEMA = "latchproof.bench/1"


def render(card: Card) -> str:
    # Only ASCII is written, so that no terminal acts on what stands in a rule file.
    return json.dumps({"schema": SCHEMA, **asdict(card)}, indent=2, ensure_ascii=True)
