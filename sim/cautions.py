"""The usual caution, worded for what the output is about."""

GENERAL = (
    "This is a calculation, not a measurement, and a limit is an edge: stop short of it by what the numbers may be wrong. "
    "Makers' limits, local rules and qualified people come first."
)
PULLS = (
    "Pull on a dyno or a closed course, with a second person reading the gauges. Abort also on a lean mixture, falling fuel "
    "pressure or any knock: the exhaust gauge is never the only stop. Stay out of the plane of the wheels."
)
HOT_SIDE = (
    "No oil or fuel near the hot side. Drill with the manifold off the engine: one chip destroys a turbine wheel. "
    "Check plugs and fittings again, cold, after the first heat."
)
PRESSURE_TAP = "Never lead an exhaust pressure tube into the cabin (carbon monoxide, hot gas): use a remote sender."


def cautions(*, turbo: bool, tap: bool) -> list[str]:
    """The cautions that apply to a prediction."""
    return [GENERAL, PULLS] + ([HOT_SIDE] if turbo else []) + ([PRESSURE_TAP] if tap else [])
