"""A kernel as Python calls it, and the same kernel as another kernel calls it.

Where Python calls one, a door to it is needed and machine code. Where a kernel calls one, neither is: what it does is put into the
kernel around it, and the two are made into machine code together. numba makes both for either, which was two fifths of the
first run ever. What leans on numba's inner parts stands here and in `kept`.
"""

from collections.abc import Callable
from functools import cached_property
from typing import Any

from numba.core import codegen, dispatcher, types
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import AnalysisPass, register_pass
from numba.core.registry import CPUDispatcher
from numba.core.typed_passes import AnnotateTypes

from .kept import Kept, KeptPart, Part, Whole

_Compiler: Any = dispatcher._FunctionCompiler  # type: ignore[attr-defined]


class _Library(AnalysisPass):  # type: ignore[misc]
    """Before lowering: the library that takes the kernel's code."""

    kind: type[codegen.JITCodeLibrary]

    def __init__(self) -> None:
        AnalysisPass.__init__(self)

    def run_pass(self, state: Any) -> bool:
        """Give the state its library; nothing of the kernel is changed."""
        state.library = self.kind(state.targetctx.codegen(), state.func_id.func_qualname)
        state.library.enable_object_caching()
        return False


@register_pass(mutates_CFG=False, analysis_only=True)
class _ToWhole(_Library):
    _name = "library_of_a_whole"
    kind = Whole


@register_pass(mutates_CFG=False, analysis_only=True)
class _ToPart(_Library):
    _name = "library_of_a_part"
    kind = Part


class _Pipeline(CompilerBase):  # type: ignore[misc]
    """numba's own way to compile, into a library of ours."""

    library: type[_Library] = _ToWhole

    def define_pipelines(self) -> list[Any]:
        """The passes."""
        passes = DefaultPassBuilder.define_nopython_pipeline(self.state)
        passes.add_pass_after(self.library, AnnotateTypes)
        passes.finalize()
        return [passes]


class _PartPipeline(_Pipeline):
    library = _ToPart


class _WholeCompiler(_Compiler):  # type: ignore[misc]
    """Compiles to machine code."""

    def compile(self, args: Any, return_type: Any) -> Any:
        """The kernel; the constants of what was put into it are made known to its code, as they are where it is loaded."""
        made = super().compile(args, return_type)
        for environment in made._find_referenced_environments():
            made.library.codegen.set_env(environment.env_name, environment)
        return made


class _PartCompiler(_Compiler):  # type: ignore[misc]
    """Compiles to intermediate code, without doors."""

    def _customize_flags(self, flags: Any) -> Any:
        flags.no_compile = flags.no_cpython_wrapper = True
        return flags

    def compile(self, args: Any, return_type: Any) -> Any:
        """The kernel, known to those that call it by an entry of its own, which is none in memory."""
        made = super().compile(args, return_type)._replace(entry_point=object())
        self.targetdescr.target_context.insert_user_function(made.entry_point, made.fndesc, [made.library])
        return made


class _Part(CPUDispatcher):  # type: ignore[misc]
    """A kernel as another kernel calls it."""

    def __init__(self, function: Callable[..., Any], types_of: Any, options: dict[str, Any]) -> None:
        super().__init__(function, types_of, options, _PartPipeline)
        self._compiler = _PartCompiler(function, self.targetdescr, options, {}, _PartPipeline)
        self._cache = KeptPart(function)

    def add_overload(self, cres: Any) -> None:
        """Keep it by its arguments; Python cannot call it."""
        self.overloads[tuple(cres.signature.args)] = cres


class Kernel(CPUDispatcher):  # type: ignore[misc]
    """A kernel as Python calls it; to a kernel that calls it, its part."""

    def __init__(self, function: Callable[..., Any], types_of: Any, options: dict[str, Any]) -> None:
        """Arguments as numba gives them where it unpickles one; `types_of` its local variables, none given."""
        options = {**options, "no_cfunc_wrapper": True}
        super().__init__(function, types_of, options, _Pipeline)
        self._compiler = _WholeCompiler(function, self.targetdescr, options, {}, _Pipeline)
        self._cache = Kept(function)

    @cached_property
    def part(self) -> _Part:
        """The same where a kernel calls it."""
        return _Part(self.py_func, None, self.targetoptions)

    @property
    def _numba_type_(self) -> Any:
        return types.Dispatcher(self.part)
