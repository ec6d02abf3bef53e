"""Files are written whole or not at all, and nothing is overwritten without being asked."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
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
    with whole(path) as part:
        part.write_text(text, encoding="utf-8", newline="\n")


@contextmanager
def whole(path: Path, suffix: str = "") -> Iterator[Path]:
    """A file beside `path` to write to, which takes its name when it is complete and is gone where that fails; raises CaseError.

    suffix : of the other name, where what writes goes by it
    """
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", suffix=suffix, dir=path.parent)
        os.close(handle)
        yield Path(temporary)
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except OSError as error:
        raise CaseError(f"{path} cannot be written: {error.strerror or error}.") from None
    finally:
        if temporary and os.path.exists(temporary):
            os.unlink(temporary)
