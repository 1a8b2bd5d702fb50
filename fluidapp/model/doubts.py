"""How well things are known on a machine where a reading brings nothing better."""

from fluidapp.model.base import Frozen, NotNegative, Positive


class Doubts(Frozen):
    """Standard uncertainties (1 σ) where nobody entered better ones. All typical and editable (common practice, no source)."""

    stick_mm: Positive = 2.0  # one reading of a dipstick
    glass_mm: Positive = 3.0  # one reading of a sight glass
    percent: Positive = 2.0  # one reading of a gauge in per cent
    slope_measured_deg: Positive = 0.3
    slope_unmeasured_deg: Positive = 1.0
    temp_measured_k: Positive = 2.0
    temp_unmeasured_k: Positive = 15.0
    tank_taped_percent: Positive = 1.0  # litres of a tank measured with a tape
    rod_mm: Positive = 10.0  # rod shown, as measured with a rule
    posture_share: NotNegative = 0.05  # of all rods out, where the posture was not looked at
    rods_over_system: NotNegative = 0.13  # litres of all rods out per litre of the system, where no cylinder is entered
    system_over_tank: Positive = 1.8  # system litres per litre in the tank at its mark, where no figure is entered
