"""The command line: thin. Heavy imports happen inside the verb that needs them."""

import os
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from .errors import CaseError

ABOUT = """\
hotside: what the gauges of a turbocharged spark-ignition engine will read, before metal is cut or boost turned up.

Mixture, timing and boost set the exhaust; the turbine turns it into pressure before itself; that pressure comes back
into the cylinder as residual gas, heat, pumping work and knock. hotside closes the whole loop.

  hotside predict                          the built-in demo: every reading at one operating point, with margins
  hotside new my.toml                      a complete, commented case to fill in with your engine
  hotside predict my.toml --set run.boost="1.2 bar"

hotside explain NAME says what a reading or an input means; hotside --help lists every command.
"""
INTERRUPTED = 130  # exit status of a program ended by Ctrl-C
app = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
CaseFile = Annotated[Path | None, typer.Argument(metavar="CASE.toml", help="case file; the demo where left out")]
Changes = Annotated[
    list[str] | None, typer.Option("--set", metavar="NAME=VALUE", help="change one input; repeat for more")
]
AsJson = Annotated[bool, typer.Option("--json", help="print the result as JSON, in SI")]
Family = Annotated[str | None, typer.Option("--units", metavar="us|metric", help="units of the tables")]
Force = Annotated[bool, typer.Option("--force", help="replace a file that is there already")]
Trace = Annotated[Path | None, typer.Option("--trace", metavar="FILE.csv", help="write the crank-resolved cycle")]


@app.callback(invoke_without_command=True)
def about(context: typer.Context) -> None:
    """What the gauges of a turbocharged spark-ignition engine will read."""
    if context.invoked_subcommand is None:
        print(ABOUT, end="")


@app.command()
def predict(
    case_file: CaseFile = None,
    changes: Changes = None,
    as_json: AsJson = False,
    units: Family = None,
    trace: Trace = None,
    force: Force = False,
) -> None:
    """What every gauge reads at one operating point, with margins."""
    from .case import load

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    if trace is not None:
        from .files import check_new

        check_new(trace, force)
    from .steady import predict as solve

    prediction = solve(case, trace=trace is not None, progress=progress)
    if trace is not None:
        from .files import write_whole

        write_whole(trace, trace_text(prediction.trace), force)
    if as_json:
        print(json_text(prediction.to_dict()))
        return
    from .table_print import print_prediction

    print_prediction(prediction.to_dict(), case, family)


@app.command()
def flange(
    case_file: CaseFile = None,
    changes: Changes = None,
    wall: Annotated[str | None, typer.Option("--wall", metavar="TEMPERATURE", help="wall, not predicted")] = None,
    as_json: AsJson = False,
    units: Family = None,
    plot: Annotated[Path | None, typer.Option("--plot", metavar="FILE.png", help="clamp against temperature")] = None,
    force: Force = False,
) -> None:
    """Does the turbine flange stay clamped when hot: torque, preload, conical washers."""
    from .case import load

    wishes = [*(changes or []), *([f"flange.wall_temperature={wall}"] if wall is not None else [])]
    case = changed(load(case_file), wishes)
    family = unit_family(units, case.report.units)
    if plot is not None:
        from .flange_plot import check_plot

        check_plot(plot, force)
    from .flange_verb import flange as check

    result = check(case, progress=progress)
    if plot is not None:
        from .flange_plot import write_plot

        write_plot(result, plot, family, force)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .flange_print import print_flange

    print_flange(result, family)


@app.command()
def new(file: Annotated[Path, typer.Argument(metavar="FILE", help="where to write it")], force: Force = False) -> None:
    """Write a complete, commented starting case."""
    from .new import write_new

    write_new(file, force)
    print(f'{file} written. Put your numbers in, then: hotside predict "{file}"')


@app.command()
def explain(name: Annotated[str | None, typer.Argument(metavar="NAME", help="a reading or an input")] = None) -> None:
    """What a reading or an input means, its unit and how to measure it."""
    from .names import RESULTS, explained, inputs

    if name is not None:
        print("\n".join(explained(name)))
        return
    print("results:\n" + "\n".join(f"  {n}: {row.label}" for n, row in RESULTS.items()))
    print("inputs:\n" + "\n".join(f"  {n}: {spec.meaning}" for n, spec in inputs().items()))


def changed(case: Any, changes: list[str]) -> Any:
    """The case with every NAME=VALUE of the command line applied at once; raises CaseError."""
    values: dict[str, Any] = {}
    for change in changes:
        name, equals, text = (part.strip() for part in change.partition("="))
        if not equals or not name or not text:
            raise CaseError(f'--set {change} is not NAME=VALUE; write for example --set run.boost="1.2 bar".')
        if name in values:
            raise CaseError(f"--set {name} is given twice; give it once.")
        values[name] = toml_value(text)
    return case.set_all(values) if values else case


def toml_value(text: str) -> Any:
    """A value of the command line: as in a case file, or a text without its quotes."""
    import tomllib

    try:
        found = tomllib.loads(f"value = {text}")
    except (tomllib.TOMLDecodeError, RecursionError):
        return text
    return found["value"] if list(found) == ["value"] else text


def unit_family(asked: str | None, of_case: str) -> str:
    """The family of units to print in; raises CaseError for one that is none."""
    if asked not in (None, "us", "metric"):
        raise CaseError(f'--units {asked} is neither "us" nor "metric".')
    return asked or of_case


def progress(message: str) -> None:
    """Say on the terminal what takes long; standard output stays clean for results."""
    print(message, file=sys.stderr, flush=True)


def json_text(values: Any) -> str:
    """A prediction as JSON; a value that is no number is null."""
    import json

    return json.dumps(finite(values), indent=2, allow_nan=False)


def finite(value: Any) -> Any:
    """Nested values with null for what is not finite."""
    if isinstance(value, dict):
        return {str(k): finite(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [finite(v) for v in value]
    if isinstance(value, float):
        return float(value) if value - value == 0.0 else None
    return value


def trace_text(trace: Any) -> str:
    """Crank-resolved columns (name -> equally long arrays) as CSV."""
    names = list(trace)
    rows = zip(*(trace[name] for name in names), strict=True)
    return "\n".join([",".join(names), *(",".join(f"{v:.9g}" for v in row) for row in rows)]) + "\n"


def main() -> None:
    """Entry point: one sentence on standard error and status 2 for what the user can mend; no traceback."""
    try:
        status = app(standalone_mode=False)
        sys.stdout.flush()
        if status == INTERRUPTED:
            raise KeyboardInterrupt  # typer has already swallowed it
    except CaseError as error:
        status = complain(str(error))
    except (KeyboardInterrupt, typer.Abort):
        status = complain("stopped.", INTERRUPTED)
    except BrokenPipeError:  # the reader of our output has gone, as `| head` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        status = 0
    except Exception as error:
        if not hasattr(error, "format_message"):
            raise
        status = complain(" ".join(error.format_message().split()))  # a usage error of the command line
    sys.exit(status if isinstance(status, int) else 0)


def complain(sentence: str, status: int = 2) -> int:
    """Print one sentence on standard error; returns the exit status."""
    print(f"hotside: {sentence}", file=sys.stderr)
    return status


if __name__ == "__main__":
    main()
