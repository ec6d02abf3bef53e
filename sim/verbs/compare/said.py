"""A clause with quantities in it, said in the reader's units."""

from dataclasses import dataclass

from ...showing import shown


@dataclass(frozen=True)
class Said:
    """Words with a {} for each quantity, and the quantities in SI with their kinds."""

    words: str
    values: tuple[tuple[float, str], ...] = ()

    def said(self, family: str = "metric") -> str:
        """In the units of a family; words without quantities stay as they are."""
        return self.words.format(*(shown(v, kind, family) for v, kind in self.values)) if self.values else self.words
