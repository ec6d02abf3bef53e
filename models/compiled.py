"""The one way kernels are compiled: `@compiled`, kept on disk under a digest of our sources (`kept`)."""

from collections.abc import Callable
from typing import Any, TypeVar

import numba

from .kept import keep

F = TypeVar("F", bound=Callable[..., Any])

# Sums may be reordered and fused; NaN and infinity keep their meaning, since the solvers look for them.
_REORDER = {"contract", "reassoc", "nsz", "arcp"}


def _compile(function: F, **options: Any) -> F:
    made = numba.njit(nogil=True, error_model="numpy", fastmath=_REORDER, **options)(function)
    if made is function:
        return function  # numba is switched off
    keep(made, function)
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


def spliced(function: F) -> F:
    """The same for a large function called in few places: its code is put there before anything is compiled, and by itself it is not.

    A kernel is compiled with all that it calls, so each level between two large ones cost the time of both once more.
    """
    return _compile(function, inline="always", _nrt=False)


def inlined(function: F) -> F:
    """The same for a function called in an inner loop from one or two places: its body is put there.

    A call copies every number of every record and array header it is given, which can cost more than the work.
    """
    return _compile(function, forceinline=True, _nrt=False)
