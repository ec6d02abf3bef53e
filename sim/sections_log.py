"""The section of a case that says how a log of its engine is read; only `hotside diagnose` reads it."""

# fmt: off
from .channels import log_columns
from .schema import Section, option, setting


class Log(Section):
    """[log]: how the columns of a log are read."""

    columns: tuple[tuple[str, str, str, str | None], ...] | None = option("table", "channel = its column in the log, with "
        "unit where the heading has none, and error", reader=log_columns, like=
        '{ speed = "RPM [rpm]", boost = { column = "MAP", unit = "kPa absolute", error = "1 kPa" } }')
    steady_for: float = setting("time", "how long a stretch without change counts as steady", "0.2 s", "60 s", to="1.5 s")
    wastegate_shut_below: float | None = option("pressure_gauge", "boost below which the wastegate is known to be shut",
        "0 bar", "6 bar", like='"0.5 bar"', tip="crack pressure: hand pump with a gauge on the actuator's hose")
