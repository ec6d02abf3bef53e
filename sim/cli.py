"""The command line: thin. Heavy imports happen inside the verb that needs them."""

import os
import sys
import warnings
from importlib import import_module
from pathlib import Path
from typing import Annotated

import typer

from . import completing
from .command_examples import epilog
from .errors import CaseError, SolveError
from .options import Force, begin
from .stopping import INTERRUPTED, stoppable

ABOUT = """\
hotside: what the gauges of a turbocharged spark-ignition engine will read, before metal is cut or boost turned up.

Mixture, timing and boost set the exhaust; the turbine turns it into pressure before itself; that pressure comes back
into the cylinder as residual gas, heat, pumping work and knock. hotside closes the whole loop.

  hotside predict                          the built-in demo: every reading at one operating point, with margins
  hotside new my.toml                      a complete, commented case to fill in with your engine
  hotside predict my.toml --set run.boost="1.2 bar"

hotside --help lists every command, hotside VERB --help has an example that runs; hotside explain NAME says what a
reading or an input means. hotside --install-completion teaches your shell to complete all of these.
"""
# each has its folder in verbs/, with its command in verbs/NAME/command.py under the same name
VERBS = (
    "predict",
    "burn",
    "compare",
    "diagnose",
    "flange",
    "improve",
    "limits",
    "lookalikes",
    "placement",
    "plan",
    "pull",
    "spool",
    "sweep",
    "uncertainty",
)  # fmt: skip
app = typer.Typer(add_completion=True, rich_markup_mode=None, pretty_exceptions_enable=False)


@app.callback(invoke_without_command=True)
def about(context: typer.Context) -> None:
    """What the gauges of a turbocharged spark-ignition engine will read."""
    if context.invoked_subcommand is None:
        print(ABOUT, end="")


@app.command(epilog=epilog("new"))
def new(file: Annotated[Path, typer.Argument(metavar="FILE", help="where to write it")], force: Force = False) -> None:
    """Write a complete, commented starting case."""
    from .new import write_new

    write_new(file, force)
    print(f'{file} written. Put your numbers in, then: hotside predict "{file}"')


@app.command(epilog=epilog("explain"))
def explain(
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="a reading or an input", autocompletion=completing.names)
    ] = None,
) -> None:
    """What a reading or an input means, its unit and how to measure it."""
    from .explaining import explained
    from .names import RESULTS, inputs

    if name is not None:
        print("\n".join(explained(name)))
        return
    print("results:\n" + "\n".join(f"  {n}: {row.label}" for n, row in RESULTS.items()))
    print("inputs:\n" + "\n".join(f"  {n}: {spec.meaning}" for n, spec in inputs().items()))


for verb in VERBS:
    app.command(epilog=epilog(verb))(getattr(import_module(f".verbs.{verb}.command", __package__), verb))


def main() -> None:
    """Entry point: one sentence on standard error and status 2 for what the user can mend; no traceback."""
    warnings.formatwarning = spoken
    begin()
    try:
        with stoppable():
            status = app(standalone_mode=False)
            sys.stdout.flush()
        if status == INTERRUPTED:
            raise KeyboardInterrupt  # typer has already swallowed it
    except (CaseError, SolveError) as error:
        status = complain(str(error))
    except (KeyboardInterrupt, typer.Abort):
        status = complain("stopped.", INTERRUPTED)
    except BrokenPipeError:  # the reader of our output has gone, as `| head` does
        turn_off_output()
        status = 0
    except OSError as error:
        turn_off_output()
        status = complain(f"the output cannot be written: {error.strerror or error}.")
    except Exception as error:
        if not hasattr(error, "format_message"):
            raise
        status = complain(" ".join(error.format_message().split()))  # a usage error of the command line
    sys.exit(status if isinstance(status, int) else 0)


def turn_off_output() -> None:
    """Let what is still to be printed go nowhere, so that the end of the program does not fail on it again."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def spoken(message: Warning | str, category: type[Warning], filename: str, lineno: int, line: str | None = None) -> str:
    """A warning of ours as the one sentence it is, without file and line; any other as usual."""
    if category.__module__.startswith(f"{__package__}".split(".")[0]):
        return f"hotside: {message}\n"
    return usual_warning(message, category, filename, lineno, line)


usual_warning = warnings.formatwarning


def complain(sentence: str, status: int = 2) -> int:
    """Print one sentence on standard error; returns the exit status."""
    print(f"hotside: {sentence}", file=sys.stderr)
    return status


if __name__ == "__main__":
    main()
