"""Files are written whole or not at all, and nothing is overwritten without being asked."""

import os
import tempfile
from pathlib import Path

from .errors import CaseError


def check_new(path: Path, force: bool) -> None:
    """Raise CaseError where `path` is a directory, or is there already and may not be replaced."""
    if path.is_dir():
        raise CaseError(f"{path} is a directory; name a file.")
    if path.exists() and not force:
        raise CaseError(f"{path} is there already; choose another name, or say --force to replace it.")
    if not path.parent.is_dir():
        raise CaseError(f"{path.parent} is no directory; make it first.")


def write_whole(path: Path, text: str, force: bool = False) -> None:
    """Write `text` to `path` under another name and rename it when it is complete; raises CaseError."""
    check_new(path, force)
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except OSError as error:
        raise CaseError(f"{path} cannot be written: {error.strerror or error}.") from None
    finally:
        if temporary and os.path.exists(temporary):
            os.unlink(temporary)
