"""The usual cautions, by target mode and fuel. They come with every plan."""

from __future__ import annotations

ALWAYS = (
    "Gasoline and alcohol vapor burn and explode: work cold, battery off, fuel drained, extinguisher at hand.",
    "Never put air pressure on a carburetor that holds fuel.",
    "Sizes and settings are starting points: verify with a wideband and a pressure gauge, step by step, starting rich.",
    "Local codes, and the judgement of a licensed mechanic, come before this list.",
)

BOOSTED = (
    "A lean mixture in boost destroys an engine within seconds: no full boost before the mixture is proved in light "
    "boost at part throttle.",
    "Pressure-test dry, with regulated air and outside the car, before fuel meets a hot turbo.",
)

BY_MODE = {
    "naturally_aspirated": (),
    "blow_through": (*BOOSTED, "Every leak of the bonnet or of a bowl sprays fuel or mixture over a hot engine."),
    "draw_through": (
        *BOOSTED,
        "Everything after the carburetor is full of explosive mixture under pressure: a leak is a fire, a backfire "
        "bursts what is weak. No charge cooler.",
    ),
}

BY_FUEL = {
    "E85": (
        "E85 varies from about half to five sixths ethanol with season and place: measure it. It attacks zinc plating, "
        "cork, natural rubber and some pump diaphragms.",
    ),
    "ethanol": (
        "Ethanol attacks zinc plating, cork, natural rubber and some pump diaphragms; its flame is hard to see.",
    ),
    "methanol": (
        "Methanol is poisonous through skin and lungs and burns with an invisible flame; it attacks zinc and aluminum "
        "and many seals.",
    ),
}


def cautions(mode: str, fuel: str) -> tuple[str, ...]:
    """The cautions for a target mode and a fuel.

    >>> any("invisible" in line for line in cautions("blow_through", "methanol"))
    True
    """
    return (*ALWAYS, *BY_MODE.get(mode, ()), *BY_FUEL.get(fuel, ()))
