"""The section of a case that describes water sprayed into the charge. It may stay out of a case."""

# fmt: off
from .schema import Section, guess, option


class Injection(Section):
    """[injection]: water sprayed into the charge after the cooler; give share or flow."""

    share: float | None = option("fraction", "water over fuel, by mass", 0.0, 1.0, like='"15 %"', band=0.1)
    flow: float | None = option("mass_flow", "water into the whole engine", "0 kg/s", "0.2 kg/s", like='"0.002 kg/s"', band=0.1,
        tip="catch what the nozzle gives in a minute, against the boost it works against")
    temperature: float = guess("temperature", "water in its tank", "274 K", "360 K", rule="ambient temperature", tip="thermometer",
        band="10 K", like='"25 degC"')
