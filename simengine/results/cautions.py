"""The cautions that go with every result. There is no switch to leave them out."""

CAUTIONS: tuple[str, ...] = (
    "These numbers are estimates from simple models. They do not prove any part strong enough and do not "
    "replace spin, pull, fatigue and endurance tests by the maker, or the rules of the authority that "
    "applies.",
    "Stay out of the propeller plane, tether the machine, wear eye and ear protection, and keep bystanders "
    "well behind and never beside the disc whenever the engine runs. First runs of a new hub: remote "
    "throttle, behind a barrier.",
    "After first runs, and at the maker's intervals: stop, look, re-torque in pattern, check witness marks, "
    "blade shake, equal travel of all blades, stops, spring breakage, corrosion and cracks. (General "
    "guidance: FAA AC 20-37E, 9/9/05.)",
    "Unequal shift between blades is an imbalance in pitch: throttle to idle, land, do not fly again until "
    "the cause is found. Link blades mechanically; never rely on equal springs.",
    "A blade that floats between the stops may be near a once-per-revolution resonance; do not cruise there.",
    "A broken spring must leave the blades on a stop from which flight to a landing is possible; say which "
    "stop, and check rpm limit and thrust there.",
    "Never exceed engine rpm limits to help the shift; over-speed grows the load with the square.",
    "Structural figures, where shown, are without fatigue, damage, temperature or manufacturing scatter, and "
    "claim no margin.",
    "Rich mixture, humidity and icing are outside the simple altitude law; do not plan fuel to the last "
    "litre on a prediction.",
)

SHORT_CAUTION = (
    "Estimates from simple models: they prove no part strong enough and replace no test. Stay out of the "
    "propeller plane; do not cruise with blades between the stops; never pass the engine's rpm limit to help "
    "the shift; do not plan fuel to the last litre."
)
