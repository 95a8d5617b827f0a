"""Handbook formulas of springs that the engine does not need, to hold its own against."""

from simengine.models.springs import DiscWasher, disc_scale

INCH = 0.0254  # m
PSI = 6894.757293168361  # Pa; 0.45359237 kg x 9.80665 m/s2 on a square inch of 0.0254 m

# Music wire, ultimate tensile strength = A / d^m: R. G. Budynas and J. K. Nisbett, Shigley's Mechanical
# Engineering Design, spring chapter, table of A and m (value from memory): A = 201 kpsi in^m.
MUSIC_WIRE_FACTOR = 201e3 * PSI
MUSIC_WIRE_EXPONENT = 0.145


def bergstraesser_factor(spring_index: float) -> float:
    """Stress factor by Bergstraesser [1], `spring_index` = D/d above 1 [1]; within 1.5 % of Wahl's from 4 on.

    Shigley's Mechanical Engineering Design, spring chapter.
    """
    return (4.0 * spring_index + 2.0) / (4.0 * spring_index - 3.0)


def music_wire_strength(wire_diameter: float) -> float:
    """Ultimate tensile strength [Pa] of music wire of a `wire_diameter` [m], 0.1 to 6.5 mm; `A / d^m`.

    Shigley's Mechanical Engineering Design, spring chapter, values from memory.
    """
    strength: float = MUSIC_WIRE_FACTOR / (wire_diameter / INCH) ** MUSIC_WIRE_EXPONENT
    return strength


def disc_washer_load(washer: DiscWasher, compression: float) -> float:
    """Force [N] of one washer at a compression [m], from 0 to its cone height; ValueError as `disc_factors`.

    J. O. Almen and A. Laszlo, Trans. ASME 58 (1936) 305-314, in the form of DIN 2092.
    """
    share, cone = compression / washer.thickness, washer.cone_height / washer.thickness
    return disc_scale(washer) * washer.thickness**2 * share * ((cone - share) * (cone - share / 2.0) + 1.0)
