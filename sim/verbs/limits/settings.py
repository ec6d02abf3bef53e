"""The three things a person turns, as numbers, as inputs of a case and as text that `predict` reads back."""

from typing import Any, NamedTuple

from ...case import Case
from ...errors import CaseError


class Axis(NamedTuple):
    """One thing that is turned."""

    input: str  # dotted name
    kind: str  # of unit, for printing
    places: int  # decimals of the SI value that are kept, so that a line that is typed again gives the same number
    step: float  # first step of a search [SI, degrees]
    longest: float  # longest step [SI, degrees]
    low: float  # search goes no further [SI, degrees]
    high: float
    down: str  # what going down is called
    up: str


LEAST = 5.1e3  # boost below which none is searched: from 5 kPa down predict gives no ratio to it, and that limit is gone [Pa]
AXES = {
    "boost": Axis("run.boost", "pressure", 0, 5e3, 3e4, LEAST, 6e5, "less boost", "more boost"),
    "spark": Axis("run.spark_advance", "angle", 4, 1.0, 4.0, -25.0, 55.0, "later spark", "earlier spark"),
    "mixture": Axis("run.lambda", "number", 6, 0.02, 0.06, 0.60, 1.20, "richer", "leaner"),
}


class Setting(NamedTuple):
    """Boost [Pa, gauge; None on a bench], spark advance [deg], lambda [-]."""

    boost: float | None
    spark: float
    mixture: float

    def moved(self, axis: str, value: float) -> "Setting":
        """The setting with one of the three changed, rounded to what its text keeps."""
        return self._replace(**{axis: round(float(value), AXES[axis].places)})

    def inputs(self) -> dict[str, Any]:
        """The inputs of a case, as written there."""
        found: dict[str, Any] = {} if self.boost is None else {"run.boost": f"{self.boost / 1e5:.5f} bar"}
        return found | {"run.spark_advance": f"{self.spark:.4f} deg", "run.lambda": round(self.mixture, 6)}

    def words(self) -> str:
        """The same as options of the command line."""
        pairs = self.inputs().items()
        return " ".join(f'--set {k}="{tidy(v)}"' if isinstance(v, str) else f"--set {k}={v!r}" for k, v in pairs)

    def to_dict(self) -> dict[str, float | None]:
        """By the names of the results."""
        return {"boost_pa": self.boost, "spark_advance_deg": self.spark, "lambda_ratio": self.mixture}


def tidy(text: str) -> str:
    """A quantity without the zeros that end its decimals."""
    number, unit = text.split(" ", 1)
    return f"{number.rstrip('0').rstrip('.')} {unit}" if "." in number else text


def setting_of(case: Case) -> Setting:
    """Where a case stands; raises CaseError where it has no spark to turn.

    Boost is turned only where the wastegate follows run.boost; with a spring or a fixed opening it is what comes of them.
    """
    if case.burn.model != "spark" or case.run.spark_advance is None:
        raise CaseError(
            f'burn.model = "{case.burn.model}" has no spark to turn; write model = "spark" under [burn] and '
            "run.spark_advance."
        )
    asked = case.wastegate is not None and case.wastegate.model == "boost"
    boost = round(case.run.boost, 0) if asked and case.run.boost is not None else None
    return Setting(boost, round(case.run.spark_advance, 4), round(case.run.lambda_ratio, 6))
