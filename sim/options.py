"""What the commands of all verbs share: options, --set, units, JSON. Light, since every command loads it."""

import re
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from . import completing
from .errors import CaseError

CaseFile = Annotated[Path | None, typer.Argument(metavar="CASE.toml", help="case file; the demo where left out")]
Changes = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="NAME=VALUE", help="change one input; repeat for more", autocompletion=completing.changes
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="print the result as JSON, in SI")]
Family = Annotated[str | None, typer.Option("--units", metavar="us|metric", help="units of the tables")]
Force = Annotated[bool, typer.Option("--force", help="replace a file that is there already")]
Trace = Annotated[Path | None, typer.Option("--trace", metavar="FILE.csv", help="write the crank-resolved cycle")]
Page = Annotated[Path | None, typer.Option("--report", metavar="FILE.html", help="print, picture and case as one page")]


def picture(shows: str) -> Any:
    """The option --plot of a verb whose picture shows that."""
    return typer.Option("--plot", metavar="FILE.png", help=shows)


def opened(case_file: Path | None, changes: list[str] | None, units: str | None) -> tuple[Any, str]:
    """The case of a command with its changes, and the family of units to print in; raises CaseError."""
    from .case import load

    case = changed(load(case_file), changes or [])
    family = unit_family(units, case.report.units)
    if family != case.report.units:  # sentences are said in them
        case = case.set("report.units", family)
    return case, family


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


def begin() -> None:
    """Nothing has been said yet."""
    _said.clear()


def progress(message: str) -> None:
    """Say on standard error what takes long: on a terminal one line that changes, elsewhere a line for each new thing."""
    stem = re.sub(r"[\d.]+", "", message)
    again, _said[:] = stem in _said, [stem]
    if sys.stderr.isatty():
        up = "\x1b[1A\x1b[2K" if again else ""
        print(f"{up}{message}\n", end="", file=sys.stderr, flush=True)  # in one piece: threads speak at once
    elif not again:
        print(message, file=sys.stderr, flush=True)


_said: list[str] = []  # what the last line was about, its figures left out


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
