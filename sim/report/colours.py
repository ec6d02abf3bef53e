"""Colours of a printed picture by the names that the page turns into those of paper or of the dark."""

from typing import Any

from ..style import AMBER, BRICK, INK, PLUM, TEAL

NAMES = {INK: "@ink", BRICK: "@brick", TEAL: "@teal", AMBER: "@amber", PLUM: "@plum"}
GREYS = ((0.55, "@quiet"), (0.85, "@shade"), (0.95, "@pale"), (1.0, "@paper"))  # up to this lightness


def colour(given: Any, literal: bool = False) -> str:
    """A colour of matplotlib's by its name, its opacity left out; `literal` where it lies on a field of shades."""
    from matplotlib.colors import to_hex

    code = to_hex(given)
    if literal:
        return code
    red, green, blue = (int(code[k : k + 2], 16) / 255.0 for k in (1, 3, 5))
    if max(red, green, blue) - min(red, green, blue) > 0.01:
        return NAMES.get(code, code)
    return next(name for most, name in GREYS if red <= most)


def ramp(shades: Any, steps: int = 16) -> list[list[Any]]:
    """A colour map as Plotly takes it."""
    return [[k / (steps - 1), colour(shades(k / (steps - 1)), literal=True)] for k in range(steps)]
