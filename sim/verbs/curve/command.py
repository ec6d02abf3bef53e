"""`hotside predict --speed` on the command line."""

from pathlib import Path

from ...case import Case
from ...options import json_text, progress, trace_text


def along_speed(
    case: Case,
    speed: str,
    family: str,
    *,
    as_json: bool,
    csv: Path | None,
    plot: Path | None,
    line: Path | None,
    freer: bool,
    force: bool,
) -> None:
    """Solve, write and print a curve; files are checked before anything is solved. Raises CaseError."""
    if plot is not None:
        from ...pictures import check_picture

        check_picture(plot, force, "curve.png")
    if csv is not None:
        from ...files import check_new

        check_new(csv, force)
    if line is not None:
        from ...pictures import check_picture
        from .operating_line import check

        check(case)
        check_picture(line, force, "compressor.png", "--operating-line")
    from .run import curve

    result = curve(case, speed, freer_pipe=freer, progress=progress)
    if csv is not None:
        from ...files import write_whole

        write_whole(csv, trace_text(result.columns()), force)
    if plot is not None:
        from ...pictures import save_picture
        from .plot import draw

        save_picture(draw(result, family), plot)
    if line is not None:
        from ...pictures import save_picture
        from .operating_line import draw as draw_line

        save_picture(draw_line(case, result, family), line)
    if as_json:
        print(json_text(result.to_dict()))
        return
    from .table import print_curve

    print_curve(result, case, family)
