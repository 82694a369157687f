"""What can be said about a code beyond the message itself."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Explanation:
    """`text` says what the code means and why it matters in the air, paragraphs parted by an empty line.

    `wrong` is a whole rule file that gets this code, `mended` the same without it; both are None where the cause is not
    in the text (a missing file). Tests hold the two to that.
    """

    code: str
    title: str
    text: str
    wrong: str | None = None
    mended: str | None = None

    @property
    def paragraphs(self) -> tuple[str, ...]:
        return tuple(" ".join(p.split()) for p in self.text.strip().split("\n\n"))
