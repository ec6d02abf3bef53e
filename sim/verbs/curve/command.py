"""`hotside predict --speed` on the command line."""

from functools import partial
from pathlib import Path

from ...case import Case
from ...options import progress, trace_text
from ..output import Output


def along_speed(case: Case, speed: str, family: str, output: Output, line: Path | None, freer: bool) -> None:
    """Solve, write and print a curve; raises CaseError."""
    from ...pictures import check_picture, save_picture
    from . import operating_line
    from .plot import draw
    from .run import curve
    from .table import print_curve

    if line is not None:
        operating_line.check(case)
        check_picture(line, output.force, "compressor.png", "--operating-line")
    result = curve(case, speed, freer_pipe=freer, progress=progress)
    compressor = partial(operating_line.draw, case, result, family)
    if line is not None:
        save_picture(compressor(), line)
    output.give(
        case, result.to_dict, partial(print_curve, result, case, family), partial(draw, result, family),
        lambda: trace_text(result.columns()), beside=compressor if operating_line.has_map(case) else None,
    )  # fmt: skip
