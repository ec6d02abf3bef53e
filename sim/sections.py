"""The whole case as one table of sections, in SI."""

from .schema import Section, Spec, setting, walk
from .sections_engine import Burn, Cylinder, Engine, Friction, Fuel, Knock, WallHeat
from .sections_flange import Boss, Flange
from .sections_gauges import Fitting, PressureTap, Probe
from .sections_injection import Injection
from .sections_log import Log
from .sections_pull import Pull, Vehicle
from .sections_spool import Spool
from .sections_spreads import Spreads
from .sections_turbo import (
    Ambient,
    Compressor,
    Cooler,
    Exhaust,
    Limits,
    Report,
    Run,
    Turbine,
    Wastegate,
)


class Sections(Section):
    """All sections of a case."""

    title: str = setting("text", "one line that names the case", to="untitled")
    engine: Engine
    fuel: Fuel
    burn: Burn = Burn()
    wall_heat: WallHeat = WallHeat()
    knock: Knock = Knock()
    friction: Friction = Friction()
    exhaust: Exhaust = Exhaust()
    turbine: Turbine | None = None
    wastegate: Wastegate | None = None
    compressor: Compressor | None = None
    cooler: Cooler | None = None
    injection: Injection | None = None
    ambient: Ambient = Ambient()
    run: Run
    cylinder: tuple[Cylinder, ...] = ()
    probe: tuple[Probe, ...] = ()
    pressure_tap: PressureTap | None = None
    fitting: tuple[Fitting, ...] = ()
    flange: Flange | None = None
    boss: Boss | None = None
    vehicle: Vehicle | None = None
    pull: Pull | None = None
    spool: Spool | None = None
    spreads: Spreads | None = None
    log: Log | None = None
    limits: Limits = Limits()
    report: Report = Report()


SPECS: dict[str, Spec] = dict(walk(Sections))
