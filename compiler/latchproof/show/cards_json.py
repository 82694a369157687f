"""Cards as JSON, schema `latchproof.cards/1`: the fields of the cards under their own names, and of each block its
kind."""

import json
from dataclasses import asdict

from latchproof.cards.model import Cards

SCHEMA = "latchproof.cards/1"


def render(x: Cards) -> str:
    # Only ASCII is written, so that no terminal acts on what stands in a rule file.
    made = asdict(x)
    for card, shown in zip(x.cards, made["cards"], strict=True):
        for part, drawn in zip(card.parts, shown["parts"], strict=True):
            drawn["blocks"] = [
                {"kind": type(block).__name__.lower(), **fields}
                for block, fields in zip(part.blocks, drawn["blocks"], strict=True)
            ]
    return json.dumps({"schema": SCHEMA, **made}, indent=2, ensure_ascii=True)
