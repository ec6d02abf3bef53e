"""What the three studies share: their command line, and a found value beside a reported range."""

import argparse
from pathlib import Path

from hotside.sim import Case, load


def asked(about: str, picture: str) -> tuple[Case, Path, bool]:
    """Case, where the picture goes, and whether few points are enough, from the command line."""
    parser = argparse.ArgumentParser(description=about.split("\n\n")[0])
    parser.add_argument("case", nargs="?", help="case file, the demo where left out")
    parser.add_argument("--picture", type=Path, default=Path(picture), help="where to write it")
    parser.add_argument("--quick", action="store_true", help="few points")
    wish = parser.parse_args()
    return load(wish.case), wish.picture, wish.quick


def beside(what: str, value: float, low: float, high: float, unit: str = "", figures: int = 1) -> str:
    """One line: a found value, the range that is reported, and whether it lies in it."""
    agrees = "agrees" if low <= value <= high else f"DOES NOT AGREE, {'below' if value < low else 'above'}"
    reported = f"{low:.4g} to {high:.4g}"
    return f"  {what}: {value:.{figures}f} {unit}".rstrip() + f", reported {reported}: {agrees}"
