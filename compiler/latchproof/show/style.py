"""Colours of the terminal, or none."""

from dataclasses import dataclass
from typing import Literal

Role = Literal["error", "warning", "place", "primary", "secondary", "hint", "strong", "good"]

_CODES: dict[Role, str] = {
    "error": "1;31",
    "warning": "1;33",
    "place": "36",
    "primary": "1;31",
    "secondary": "36",
    "hint": "1;32",
    "strong": "1",
    "good": "32",
}


@dataclass(frozen=True, slots=True)
class Style:
    """How wide a line may be, and whether it may be coloured."""

    width: int = 80
    colour: bool = False

    def paint(self, text: str, role: Role) -> str:
        return f"\x1b[{_CODES[role]}m{text}\x1b[0m" if self.colour and text else text


PLAIN = Style()
