"""What is finished, kept beside the result file: one file for each stretch, written whole, and what they belong to.

`map.nc` has its journal in the folder `map.nc.parts`. A killed sweep leaves it; the next run reads it and goes on. It is
taken away when the result file is complete.
"""

import json
import os
import shutil
import tempfile
import zipfile
from pathlib import Path
from typing import Any

import numpy as np

from ...errors import CaseError
from .point import Chunk

ABOUT = "sweep.json"


class Journal:
    """Finished stretches of one sweep in a folder."""

    def __init__(self, folder: Path, key: str) -> None:
        self.folder, self.key = folder, key

    @staticmethod
    def beside(path: Path, key: str) -> "Journal":
        """The journal of a result file."""
        return Journal(path.with_name(path.name + ".parts"), key)

    def owner(self) -> str | None:
        """Key of the sweep whose stretches lie in the folder; None where there are none, empty where it is unreadable."""
        if not self.folder.exists():
            return None
        try:
            return str(json.loads((self.folder / ABOUT).read_text())["key"])
        except (OSError, ValueError, KeyError, TypeError):
            # without its key nothing finished can lie there: the key is written first
            return "" if any(self.folder.glob("*.npz")) else None

    def open(self, about: dict[str, Any]) -> None:
        """Make the folder and say in it whose it is; raises CaseError where it cannot be written."""
        try:
            self.folder.mkdir(exist_ok=True)
            for left in self.folder.glob("*.part"):  # of a run that was killed while it wrote
                left.unlink()
            if self.owner() != self.key:
                text = json.dumps({"key": self.key} | about, indent=1)
                self._write(ABOUT, lambda file: file.write(text.encode()))
        except OSError as error:
            raise CaseError(
                f"{self.folder} cannot be written: {error.strerror or error}; choose another place for the result."
            ) from None

    def keep(self, number: int, chunk: Chunk) -> None:
        """Write one stretch whole; raises CaseError where it cannot be written."""
        values = {
            "names": np.array(chunk.names),
            "numbers": chunk.numbers,
            "flags": np.array(chunk.flags, dtype=str),
            "text_names": np.array(chunk.text_names),
            "texts": _written(chunk.texts),
            "models": _written(chunk.models),
        }
        try:
            self._write(f"{number:06d}.npz", lambda file: np.savez(file, **values))  # type: ignore[arg-type]
        except OSError as error:
            raise self.full(error) from None

    def read(self, sizes: dict[int, int]) -> dict[int, Chunk]:
        """The finished stretches by number; a damaged one, or one that has not the size it must have, is left out.

        sizes : points of each stretch of the sweep
        """
        found = {}
        for number, size in sizes.items():
            chunk = _read(self.folder / f"{number:06d}.npz")
            if chunk is not None and chunk.size == size:
                found[number] = chunk
        return found

    def drop(self) -> None:
        """Take the folder away."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def full(self, error: OSError) -> CaseError:
        """The sentence for a folder that cannot be written."""
        return CaseError(
            f"{self.folder} cannot be written: {error.strerror or error}; what is finished stays there, and --resume goes on."
        )

    def _write(self, name: str, fill: Any) -> None:
        """Fill a file under another name, see it onto the disk, then give it its name."""
        handle, temporary = tempfile.mkstemp(suffix=".part", dir=self.folder)
        try:
            with os.fdopen(handle, "wb") as file:
                fill(file)
                file.flush()
                os.fsync(file.fileno())
            os.replace(temporary, self.folder / name)
        except BaseException:
            os.unlink(temporary)
            raise


def _written(texts: Any) -> np.ndarray:
    """Texts as bytes: in an array of texts each takes as much as the longest, which made the journal eighteen times the result."""
    return np.frombuffer(json.dumps(texts).encode(), dtype=np.uint8)


def _read(path: Path) -> Chunk | None:
    """The stretch in a file; None where there is none that is whole (zip carries a checksum of every member)."""
    try:
        with np.load(path, allow_pickle=False) as file:
            return Chunk(
                tuple(map(str, file["names"])),
                np.ascontiguousarray(file["numbers"]),
                tuple(map(str, file["flags"])),
                tuple(map(str, file["text_names"])),
                json.loads(file["texts"].tobytes()),
                json.loads(file["models"].tobytes()),
            )
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None
