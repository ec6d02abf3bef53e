"""The one way kernels are compiled: `@compiled`, with an on-disk cache that notices every edit of ours.

numba's own cache watches only the file of the outermost function, so a constant edited in a room that it calls would
go unnoticed and the old answer would come back. The cache folder is therefore keyed to a digest of all our sources.

Nor does numba's own cache stand a folder that may only be read, a full disk or a file cut short by a power failure: kept
kernels are then read where they can be, compiled where not, and one sentence says that they could not be kept.
"""

import contextlib
import hashlib
import os
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import numba
import platformdirs
from numba.core import caching
from numba.core import config as _config
from numba.core.runtime import rtsys

F = TypeVar("F", bound=Callable[..., Any])

_ROOMS = Path(__file__).resolve().parent
_ROOTS = (_ROOMS, _ROOMS.parent / "sim")


_MARKS = (b"@compiled", b"@inlined", b"@allocating")  # of a file that holds a kernel


def source_digest() -> str:
    """Digest of every physics file, every file that holds a kernel, and the compiler's version [-]."""
    digest = hashlib.sha256(numba.__version__.encode())
    for root in _ROOTS:
        for path in sorted(root.rglob("*.py")):
            text = path.read_bytes()
            if root == _ROOMS or any(mark in text for mark in _MARKS):
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


_said: list[str] = []  # kernels that could not be kept; the first is told of, for all


class NotKept(UserWarning):
    """What was built could not be kept for the next run; the text is the sentence the user reads."""


class _Place(caching.UserProvidedCacheLocator):
    """Our folder, whether it may be written or only read; numba would look for another, which no digest guards."""

    def ensure_cache_path(self) -> None:
        with contextlib.suppress(OSError):
            os.makedirs(self.get_cache_path(), exist_ok=True)


class _Kernels(caching.CompileResultCacheImpl):
    """How numba lays a compiled kernel down, in our folder alone."""

    _locator_classes: list[Any] = [_Place]  # noqa: RUF012


class _Kept(caching.FunctionCache):
    """numba's cache of one function, to which no state of the disk is an error."""

    _impl_class = _Kernels

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """The kept kernel, or None where there is none that is whole: it is then compiled again.

        numba would first make ready to compile, which takes a third of a second; a kept kernel is finished machine code and
        needs of that the runtime alone.
        """
        try:
            rtsys.initialize(target_context)
            return self._load_overload(sig, target_context)
        except Exception:  # a file cut short fails in as many ways as there are places to cut
            with contextlib.suppress(OSError):
                self.flush()
            return None

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep a kernel, or say once that it could not be kept."""
        try:
            super().save_overload(sig, data)
        except OSError as error:
            if not _said:
                text = not_kept("compiled kernels", Path(_KERNELS), error, "every run compiles them, about a minute")
                warnings.warn(NotKept(text), stacklevel=2)
            _said.append(self._name)


def not_kept(what: str, folder: Path, error: OSError, cost: str) -> str:
    """The sentence for what could not be written to the cache [-]."""
    reason = error.strerror or str(error)
    return f"{what} could not be kept in {folder} ({reason}): {cost}; HOTSIDE_CACHE names another folder."


def _compile(function: F, **options: Any) -> F:
    made = numba.njit(nogil=True, error_model="numpy", fastmath=_REORDER, **options)(function)
    if made is function:
        return function  # numba is switched off
    config: Any = _config  # its attributes are made at import, so a type checker cannot see them
    before = config.CACHE_DIR
    config.CACHE_DIR = _KERNELS
    try:
        made._cache = _Kept(function)
    finally:
        config.CACHE_DIR = before
    return made


def plain(kernel: F) -> F:
    """A kernel as it is written: for arrays in place of its numbers, or where a call of it costs more than its work."""
    return getattr(kernel, "py_func", kernel)  # type: ignore[return-value]


def compiled(function: F) -> F:
    """Compile `function` (nopython, GIL released, division as in C) and keep the result on disk.

    Its arrays are the caller's: it counts no references, which took a third of a march, and so can make none.
    """
    return _compile(function, _nrt=False)


def allocating(function: F) -> F:
    """The same for a function that makes arrays."""
    return _compile(function, _nrt=True)  # said, since a function that is called takes this over from its caller


def inlined(function: F) -> F:
    """The same for a function called in an inner loop from one or two places: its body is put there.

    A call copies every number of every record and array header it is given, which can cost more than the work.
    """
    return _compile(function, forceinline=True, _nrt=False)
