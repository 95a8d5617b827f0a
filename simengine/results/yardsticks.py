"""Published rules that load figures are looked at against, and what is never in these figures.

14 CFR 35 as in force; texts seen. A paramotor is usually outside all of them.
"""

OUTSIDE = (
    "A paramotor is usually outside all these rules: they are yardsticks, no requirement met or claimed."
)

YARDSTICKS: tuple[tuple[str, str], ...] = (
    (
        "14 CFR 35.35",
        "hub, blade retention and counterweights: 1 h at twice the largest centrifugal load of the highest "
        "rated rpm (141.4 % rpm); transitions such as a composite blade bonded to metal likewise",
    ),
    ("14 CFR 35.35", "parts fixed to the blade: 30 min at 159 % of the centrifugal load (126.1 % rpm)"),
    ("14 CFR 35.36", "impact of a 4 lb bird"),
    ("14 CFR 35.37", "fatigue limits of hub, blades and retention"),
    (
        "14 CFR 35.39",
        "endurance: 50 h fixed or ground-adjustable; 110 h variable pitch (5 h take-off, thirty 10 min "
        "cycles, 50 h continuous, ten 5 h cycles)",
    ),
    ("14 CFR 35.40", "pitch control: 500 complete cycles moved by hand, 1500 governing"),
    ("14 CFR 35.41", "overspeed and overtorque: 20 runs of 30 s"),
    (
        "14 CFR 35.41(c), 1964 to 2008",
        "automatically controllable propellers: 1500 complete cycles; nearest to a self-shifting hub",
    ),
    ("14 CFR 35.42, former", "pitch change parts: cyclic loads of 1000 h"),
    (
        "EASA CS-P 350, 370, 390, 400, 420",
        "centrifugal load, fatigue, endurance, functional test, pitch control (load levels not readable)",
    ),
    ("ASTM F2506", "propellers of light sport aircraft: strength, fatigue, endurance (clauses not readable)"),
)

NOT_CHECKED: tuple[str, ...] = (
    "pull of what lies inside the blade's first station: shank, ferrule, counterweight, bolts; it adds up",
    "fatigue of blade, root, bond, threads, pins and hub: notches, thread roots and bond ends carry far more "
    "than the mean stress shown",
    "gyroscopic loads of turning the machine, gusts, the pilot's wake, all that changes once per turn",
    "torsion and shear at the root, prying of the retention, bolts, bearings, the hub's own body",
    "cone and blade bend (the bending that the pull takes back is left out), unequal blades, impact on the "
    "stops",
    "damage, moisture, heat, ageing, corrosion, wear and scatter of manufacture",
    "strikes by birds, stones, lines or hands",
)
