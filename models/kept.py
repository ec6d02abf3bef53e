"""How compiled kernels are kept on disk: in one folder of ours, whatever state the disk is in, and quick to load again.

numba's own cache watches only the file of the outermost function, so a constant edited in a room that it calls would
go unnoticed and the old answer would come back. The cache folder is therefore keyed to a digest of all our sources.

Nor does numba's own cache stand a folder that may only be read, a full disk or a file cut short by a power failure: kept
kernels are then read where they can be, compiled where not, and one sentence says that they could not be kept. And it makes
ready to compile with every kernel it loads, which took over half of that time. What leans on numba's inner parts stands here and
in `within`.
"""

import contextlib
import hashlib
import os
import pickle
import sys
import warnings
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import llvmlite.binding as llvm
import numba
import platformdirs
from numba.core import caching, codegen, environment
from numba.core.compiler import compile_result
from numba.core.runtime import rtsys

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


KERNELS = str(cache_folder() / f"kernels-{source_digest()}")


def on_disk(name: str) -> bool:
    """Whether a kernel of this name was compiled before and kept [-]."""
    return any(Path(KERNELS).rglob(f"*.{name}-*.nbi"))


_said: list[str] = []  # kernels that could not be kept; the first is told of, for all


class NotKept(UserWarning):
    """What was built could not be kept for the next run; the text is the sentence the user reads."""


class _Place(caching.UserProvidedCacheLocator):
    """Our folder, whether it may be written or only read; numba would look for another, which no digest guards."""

    def __init__(self, function: Any, file: str) -> None:
        self._py_file = file
        self._lineno = function.__code__.co_firstlineno
        self._cache_path = os.path.join(KERNELS, self.get_suitable_cache_subpath(file))

    @classmethod
    def from_function(cls, function: Any, file: str) -> Any:
        """The place of one function."""
        return cls(function, file)

    def ensure_cache_path(self) -> None:
        with contextlib.suppress(OSError):
            os.makedirs(self.get_cache_path(), exist_ok=True)


class _Files(caching.IndexDataCacheFile):
    """The files of one kernel. numba's would take for a name or a type what a power failure left of it, and the process would die."""

    def _save_data(self, name: str, data: Any) -> None:
        text = self._dump(data)
        with self._open_for_write(self._data_path(name)) as file:
            file.write(zlib.crc32(text).to_bytes(4, "little"))
            file.write(text)

    def _load_data(self, name: str) -> Any:
        kept = Path(self._data_path(name)).read_bytes()
        text = memoryview(kept)[4:]
        if zlib.crc32(text) != int.from_bytes(kept[:4], "little"):
            raise ValueError(f"{name} is not what was written")
        return pickle.loads(text)


class Whole(codegen.JITCodeLibrary):  # type: ignore[misc]
    """The code of a kernel that Python calls, with all that it calls in turn; kept as machine code, all a later run needs."""

    _machine = b""

    def _optimize_final_module(self) -> None:
        """Every kernel runs its own copy of what it calls: which one was loaded first then changes no bit of the result."""
        super()._optimize_final_module()
        for function in self._final_module.functions:
            if not function.is_declaration and function.linkage == llvm.Linkage.linkonce_odr:
                function.linkage = "internal"

    def serialize_using_object_code(self) -> tuple[str, bytes]:
        """What is kept."""
        return (self.name, self._get_compiled_object())

    @classmethod
    def _unserialize(cls, maker: Any, state: Any) -> Any:
        name, machine = state
        made = cls(maker, name)
        made._machine = machine
        made.enable_object_caching()
        made._set_compiled_object(machine)
        made._finalize_final_module()
        return made

    def get_pointer_to_function(self, name: str) -> int:
        """Address of a function, 0 where there is none."""
        if not self._machine:
            return int(super().get_pointer_to_function(name))
        in_table = b"\0" + name.encode() + b"\0" in self._machine  # of symbols
        return int(self._codegen._engine.get_function_address(name)) if in_table else 0


class Part(codegen.JITCodeLibrary):  # type: ignore[misc]
    """The code of a kernel that another kernel calls: intermediate, and optimised with the one around it."""

    environments: tuple[Any, ...] = ()

    def _optimize_final_module(self) -> None:
        pass

    def _finalize_final_module(self) -> None:
        self._finalize_dynamic_globals()
        self._verify_declare_only_symbols()
        self._finalized = True

    def serialize_using_object_code(self) -> tuple[str, bytes]:
        """What is kept."""
        return (self.name, self._get_module_for_linking().as_bitcode())

    @classmethod
    def _unserialize(cls, maker: Any, state: Any) -> Any:
        name, code = state
        made = cls(maker, name)
        made._final_module = made._shared_module = llvm.parse_bitcode(code)
        made._finalized = True
        return made


class _Wholes(caching.CompileResultCacheImpl):
    """How a compiled kernel is laid down, in our folder alone."""

    _locator_classes: list[Any] = [_Place]  # noqa: RUF012

    def rebuild(self, target_context: Any, payload: Any) -> Any:
        """A kept kernel made ready to run."""
        maker = target_context.codegen()
        before, maker._library_class = maker._library_class, Whole
        try:
            return super().rebuild(target_context, payload)
        finally:
            maker._library_class = before


class _Parts(_Wholes):
    """The same for a kernel as other kernels call it."""

    def get_filename_base(self, fullname: str, abiflags: str) -> str:
        """Beside the file of the whole."""
        return str(super().get_filename_base(f"{fullname}.part", abiflags))

    def rebuild(self, target_context: Any, payload: Any) -> Any:
        """A kept kernel made ready to be put into another."""
        code, fndesc, environment, signature, objectmode, lifted, annotation, reload_init, environments = payload
        part = Part._unserialize(target_context.codegen(), code)
        part._reload_init.update(reload_init)
        part.environments = environments  # numba knows them weakly: here they live as long as the code
        return compile_result(
            target_context=target_context, typing_context=target_context.typing_context, library=part,
            environment=environment, entry_point=object(), fndesc=fndesc, type_annotation=annotation, signature=signature,
            objectmode=objectmode, lifted=lifted, reload_init=reload_init,
        )  # fmt: skip


@contextlib.contextmanager
def _bare_environments() -> Iterator[None]:
    """While a kernel is loaded, numba's own helpers in it do not import the rooms they come from.

    Compiled code reads of such an environment its constants alone; the imports took some hundredths of a second.
    """

    def made(room: str, constants: list[Any], name: str) -> Any:
        found = environment.lookup_environment(name)
        if found is None:
            found = environment.Environment(vars(sys.modules[room]) if room in sys.modules else {"__name__": room})
            found.consts[:], found.env_name = constants, name
            environment.Environment._memo[name] = found
        return found

    before = environment._rebuild_env
    environment._rebuild_env = made
    try:
        yield
    finally:
        environment._rebuild_env = before


class Kept(caching.FunctionCache):
    """numba's cache of one function, to which no state of the disk is an error."""

    _impl_class: type[_Wholes] = _Wholes

    def __init__(self, function: Any) -> None:
        super().__init__(function)
        stamp = self._impl.locator.get_source_stamp()
        self._cache_file = _Files(self._cache_path, self._impl.filename_base, stamp)

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """The kept kernel, or None where there is none that is whole: it is then compiled again.

        numba would first make ready to compile, which takes a third of a second; a kept kernel is finished machine code and
        needs of that the runtime alone.
        """
        try:
            rtsys.initialize(target_context)
            with _bare_environments():
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
                text = not_kept("compiled kernels", Path(KERNELS), error, "every run compiles them, about a minute")
                warnings.warn(NotKept(text), stacklevel=2)
            _said.append(self._name)


class KeptPart(Kept):
    """The same for a kernel as other kernels call it."""

    _impl_class = _Parts


def not_kept(what: str, folder: Path, error: OSError, cost: str) -> str:
    """The sentence for what could not be written to the cache [-]."""
    reason = error.strerror or str(error)
    return f"{what} could not be kept in {folder} ({reason}): {cost}; HOTSIDE_CACHE names another folder."
