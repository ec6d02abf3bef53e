"""The one way kernels are compiled: `@compiled` (`within`), kept on disk under a digest of our sources (`kept`)."""

from collections.abc import Callable
from typing import Any, TypeVar

from numba.core import config as _config

from .within import Kernel

F = TypeVar("F", bound=Callable[..., Any])

# Sums may be reordered and fused; NaN and infinity keep their meaning, since the solvers look for them.
_REORDER = {"contract", "reassoc", "nsz", "arcp"}


def _compile(function: F, **options: Any) -> F:
    config: Any = _config  # its attributes are made at import, so a type checker cannot see them
    if config.DISABLE_JIT:
        return function
    fixed = {"nopython": True, "nogil": True, "error_model": "numpy", "fastmath": _REORDER, "boundscheck": None}
    return Kernel(function, None, {**fixed, **options})  # type: ignore[return-value]


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
