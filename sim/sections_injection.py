"""The section of a case that describes water, or water and alcohol, sprayed into the charge. It may stay out of a case."""

# fmt: off
from .schema import Section, guess, option, setting


class Injection(Section):
    """[injection]: water, or water and alcohol, sprayed into the charge after the cooler; give share, or of water the flow."""

    alcohol: str = setting("choice", "alcohol in the water; run.lambda counts it as fuel, as a lambda probe does", to="none",
        choices=("none", "methanol", "ethanol"))
    alcohol_by_volume: float | None = option("fraction", "alcohol in what is sprayed, volumes before mixing", 0.0, 1.0, like='"50 %"',
        tip="how it was mixed", band=0.03)
    alcohol_by_mass: float | None = option("fraction", "the same by mass", 0.0, 1.0, like='"44 %"', tip="scales", band=0.03)
    share: float | None = option("fraction", "what is sprayed over fuel from the tank, by mass", 0.0, 1.0, like='"15 %"', band=0.1)
    flow: float | None = option("mass_flow", "water into the whole engine, without alcohol", "0 kg/s", "0.2 kg/s", like='"0.002 kg/s"', band=0.1,
        tip="catch what the nozzle gives in a minute, against the boost it works against")
    evaporation_share: float = guess("fraction", "share of its heat of vaporisation taken from the charge before the inlet closes, the "
        "rest from walls", 0.0, 1.0, to=0.8, tip="never required, and the stand-in is a judgement without source; 1 for a fine mist that wets no wall, the most it can do for filling", band=0.2)
    temperature: float = guess("temperature", "water, with its alcohol, in its tank", "274 K", "360 K", rule="ambient temperature", tip="thermometer",
        band="10 K", like='"25 degC"')
