"""The cautions that belong to a task, each with its source: the answers carry them, and the screens show them at their top.

They give way to the maker's manual, site rules, local codes and licensed people. Nothing here says that it is safe to go on.
"""

LAST = "The maker's manual, site rules, local codes and licensed people come before anything shown here."
INJECTION = (
    "Grease guns reach pressures that drive grease through the skin: keep hands off the nozzle; any skin jet means hospital at once."
)
HOT = "Hot oil spurts and pressure stays after the engine stops: loads down, levers stroked, vent slowly (OSHA interpretation 1999-11-10)."
BLOCK = "Isolate and block, crib before going under; stored energy and gravity count (OSHA interpretation 2015-07-01)."
JET = "Never feel for a leak with a hand: use cardboard. Oil jetted into the skin is a case for the hospital at once (HSE FOD 4-2014)."
SLOPE = "No slewing or travel motor work on a slope: the machine's weight pressurises circuits (operator's manual, 7 t class, second-hand)."
DRAIN = (
    "Let the oil cool to about 40 to 45 °C before a tank is drained; oil and filters are controlled waste (operator's manual, 11 t class, "
    "second-hand; 40 CFR 279.22)."
)
TANK = (
    "Before reading: machine parked on firm, level ground, attachment down, engine off, machine isolated before anybody opens anything.",
    HOT,
    "Loosen plugs and breathers slowly (operator's manuals).",
    BLOCK,
    JET,
    LAST,
)
GEAR_CASE = (
    "Park on firm, level ground, attachment down, engine stopped, isolated; let the case cool and open its plug slowly: it may be under "
    "pressure (operator's manuals, second-hand).",
    SLOPE,
    "No volatile or chlorinated solvent in a gear case (trade text).",
    "Drained oil is controlled waste: check local rules.",
    LAST,
)
SERVICE = (HOT, BLOCK, JET, DRAIN)
REFILL = (HOT, BLOCK, JET, SLOPE, DRAIN, LAST)
SLEW = (
    "Park on firm, level ground, attachment down, engine stopped, isolated and locked before anybody reaches in or opens a cover.",
    "Nobody stands in the slewing arc, which is the swing radius, when it turns; keep more than 0.5 m between counterweight and any "
    "obstruction (HSE, excavators).",
    "Isolate with the safety lever whenever anybody is in the arc (HSE, ED02-2025); never slew with a hand at nipple, ring or pinion "
    "(operator's manuals).",
    "Stop, isolate, grease; stand clear; slew; stop, isolate, grease. Never grease while the machine slews.",
    INJECTION,
    "Read the grease's safety data sheet; wear gloves. Used grease and oil are controlled waste: check local rules.",
    LAST,
)
