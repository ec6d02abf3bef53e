"""The one way kernels are compiled: `@compiled`, with an on-disk cache that notices every edit of ours.

numba's own cache watches only the file of the outermost function, so a constant edited in a room that it calls would
go unnoticed and the old answer would come back. The cache folder is therefore keyed to a digest of all our sources.
"""

import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import numba
import platformdirs
from numba.core import config as _config

F = TypeVar("F", bound=Callable[..., Any])

_ROOMS = Path(__file__).resolve().parent
_ROOTS = (_ROOMS, _ROOMS.parent / "sim")


def source_digest() -> str:
    """Digest of every physics file, every file that holds a kernel, and the compiler's version [-]."""
    digest = hashlib.sha256(numba.__version__.encode())
    for root in _ROOTS:
        for path in sorted(root.rglob("*.py")):
            text = path.read_bytes()
            if root == _ROOMS or b"@compiled" in text:
                digest.update(path.relative_to(root).as_posix().encode())
                digest.update(text)
    return digest.hexdigest()[:16]


def cache_folder() -> Path:
    """Folder for compiled kernels and property tables; HOTSIDE_CACHE overrides the user's cache folder."""
    chosen = os.environ.get("HOTSIDE_CACHE")
    return Path(chosen) if chosen else Path(platformdirs.user_cache_dir("hotside"))


# Sums may be reordered and fused; NaN and infinity keep their meaning, since the solvers look for them.
_REORDER = {"contract", "reassoc", "nsz", "arcp"}
_KERNELS = str(cache_folder() / f"kernels-{source_digest()}")


def on_disk(name: str) -> bool:
    """Whether a kernel of this name was compiled before and kept [-]."""
    return any(Path(_KERNELS).rglob(f"*.{name}-*.nbi"))


def _compile(function: F, **options: Any) -> F:
    config: Any = _config  # its attributes are made at import, so a type checker cannot see them
    before = config.CACHE_DIR
    config.CACHE_DIR = _KERNELS
    try:
        return numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=_REORDER, **options)(function)
    finally:
        config.CACHE_DIR = before


def compiled(function: F) -> F:
    """Compile `function` (nopython, GIL released, division as in C) and keep the result on disk."""
    return _compile(function)


def inlined(function: F) -> F:
    """The same for a function called in an inner loop from one or two places: its body is put there.

    A call copies every number of every record and array header it is given, which can cost more than the work.
    """
    return _compile(function, forceinline=True)
