"""Examples under the help of every command; each runs as it stands, in this order, in an empty folder."""

EXAMPLES: dict[str, tuple[str, ...]] = {
    "new": ("hotside new my.toml",),
    "predict": (
        'hotside predict my.toml --set run.boost="15 psi" --units us',
        "hotside predict my.toml --report point.html --plot cycle.png",
    ),
    "burn": (
        "hotside predict my.toml --trace cycle.csv",
        "hotside burn my.toml cycle.csv --write burned.csv --plot burn.png",
        'hotside predict my.toml --set burn.model=table --set burn.table="burned.csv"',
    ),
    "explain": ("hotside explain backpressure_ratio", "hotside explain turbine.a_over_r"),
    "compare": ('hotside compare my.toml --with turbine.a_over_r="0.82 in" --no-spool --plot rivals.png',),
    "sweep": ('hotside sweep my.toml --vary run.spark_advance="8:16:4 deg" --out map.csv --plot map.png',),
    "limits": ("hotside limits my.toml --plot region.png",),
    "plan": ("hotside plan my.toml --plot card.png",),
    "lookalikes": ("hotside lookalikes my.toml --plot alike.png",),
    "spool": ('hotside spool my.toml --set run.speed="3500 rpm" --plot spool.png',),
    "pull": ('hotside pull my.toml --set pull.begins="4000 rpm" --plot pull.png',),
    "flange": ("hotside flange my.toml --plot clamp.png",),
    "diagnose": ('hotside diagnose my.toml --read "speed=6200 rpm, boost=1.2 bar, backpressure=1.9 bar"',),
    "uncertainty": ("hotside uncertainty my.toml --samples 32",),
    "placement": ("hotside placement my.toml --probes 2 --plot holes.png",),
    "improve": ('hotside improve my.toml --target "power = 210 kW" --plot better.png',),
}


def epilog(verb: str) -> str | None:
    """The examples of a command as its help prints them, unwrapped; none where there is none."""
    lines = EXAMPLES.get(verb)
    return None if not lines else "\b\nFor example:\n" + "\n".join(f"  {line}" for line in lines)
