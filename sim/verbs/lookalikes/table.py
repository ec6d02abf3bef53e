"""A result of `lookalikes` as a table and sentences."""

from rich.console import Console
from rich.text import Text

from ...cautions import GENERAL, PULLS
from ...table_parts import _headed, _sentences, _table, value_text
from .result import LookalikesResult


def print_lookalikes(r: LookalikesResult, family: str, console: Console | None = None) -> None:
    """Print a result in the unit family "metric" or "us"."""
    console = console or Console(highlight=False)
    console.print(Text(f"\n{r.title}: what one exhaust reading cannot tell, {r.speed_rpm:.0f} rpm", style="bold"))
    table = _table("lambda", "spark", "probe reads", "power", "knock margin", "")
    for row in r.alike:
        here = row["lambda_ratio"] == r.lambda_ratio and row["spark_advance_deg"] == r.spark_advance_deg
        table.add_row(
            f"{row['lambda_ratio']:.3f}",
            value_text(row["spark_advance_deg"], "angle", family),
            value_text(row["reading_k"], "temperature", family),
            value_text(row["power_w"], "power", family),
            "far" if row["knock_margin_deg"] is None else value_text(row["knock_margin_deg"], "angle", family),
            "the case" if here else "",
        )
    held = "" if r.boost_pa is None else f", {value_text(r.boost_pa, 'pressure', family)} of boost held"
    console.print(_headed(f"settings with the same reading, {r.place}{held}", table))
    for part in (*_sentences("in words", r.sentences), *_sentences("caution", [GENERAL, PULLS])):
        console.print(part)
