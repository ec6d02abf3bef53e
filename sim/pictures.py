"""Pictures are written whole or not at all, like every other file; the drawing library is loaded when one is asked for."""

from pathlib import Path
from typing import Any

from .errors import CaseError
from .files import check_new, whole
from .style import styled

ENDINGS = (".png", ".svg", ".pdf")


def check_picture(path: Path, force: bool, example: str, option: str = "--plot") -> None:
    """Raise CaseError where a picture cannot go to `path`, before anything is calculated; `example` is a file's name."""
    if path.suffix.lower() not in ENDINGS:
        raise CaseError(f"{option} {path} ends in none of {', '.join(ENDINGS)}; write for example {option} {example}.")
    check_new(path, force)
    try:
        import matplotlib  # noqa: F401
    except ImportError:
        raise CaseError(f"{option} needs matplotlib, which is not installed; pip install matplotlib.") from None


def save_picture(figure: Any, path: Path) -> None:
    """Write a figure under another name and rename it when it is complete; raises CaseError."""
    with whole(path, path.suffix) as part, styled():
        figure.savefig(part)
