"""What is not known of a divided housing: what one entry loses alone, and what of a comparison hangs on it."""

from dataclasses import asdict, dataclass
from typing import Any

from ...case import Case
from ...showing import shown
from ...steady import SolveError, predict
from ..spool.entries import LOSS, ends_of
from .response import TipIn, response

Ends = tuple[float | None, float | None]


@dataclass(frozen=True)
class Admission:
    """Readings of a divided rival at both ends of what turbine.unequal_admission_loss may be, the lesser loss first."""

    name: str
    loss: tuple[float, float]
    power_w: Ends
    backpressure_ratio: Ends
    time_to_90_s: Ends
    threshold_rpm: Ends

    def to_dict(self) -> dict[str, Any]:
        """As a plain table."""
        return asdict(self)

    def said(self, family: str = "metric") -> str:
        """In the reader's units."""
        parts = [
            _range("", self.power_w, lambda x: shown(x, "power", family)),
            _range("a ratio of ", self.backpressure_ratio, "{:.2f}".format),
            _range("the boost timed after ", self.time_to_90_s, "{:.2f} s".format),
            _range("boost from ", self.threshold_rpm, "{:.0f} rpm".format),
        ]
        return f'"{self.name}": {", ".join(text for text in parts if text)}.'


def admission_words(found: list[Admission], family: str = "metric") -> list[str]:
    """What hangs on the loss of all rivals with two entries; nothing where there are none."""
    if not found:
        return []
    low, high = (100.0 * x for x in found[0].loss)
    return [
        f"What one of two entries loses while the other passes nothing (turbine.{LOSS}) is a judgement without a published source. From "
        f"{low:.0f} to {high:.0f} %:",
        *(one.said(family) for one in found),
        "What parts one of them from a rival with one entry by less than that is not decided.",
    ]


def _range(words: str, ends: Ends, show: Any) -> str:
    """A reading at both ends; nothing where one has none."""
    low, high = ends
    if low is None or high is None:
        return ""
    low_text, high_text = show(low), show(high)
    return words + (low_text if low_text == high_text else f"{low_text} to {high_text}")


def admission(name: str, case: Case, common: TipIn | None) -> Admission | None:
    """The rival at both ends of its loss, with the tip-in where one was marched; None where nothing hangs on it."""
    ends = ends_of(case)
    if ends is None:
        return None
    there = [case.set(f"turbine.{LOSS}", loss) for loss in ends]
    try:
        points = [predict(one) for one in there]
    except SolveError:
        return None
    quick = [(None, None) if common is None else response(one, common, case.run.speed_rpm) for one in there]
    return Admission(
        name,
        ends,
        (points[0].power_w, points[1].power_w),
        (points[0].backpressure_ratio, points[1].backpressure_ratio),
        (quick[0][0], quick[1][0]),
        (quick[0][1], quick[1][1]),
    )
