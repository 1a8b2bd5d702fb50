"""Oil: how it grows and thins with heat, its grades, and what becomes of two oils mixed."""

from fluidapp.calc.oil.blends import (
    Interval,
    blend_density,
    blend_fraction,
    blend_fraction_interval,
    blend_fraction_open,
    blend_viscosity,
    blend_viscosity_by_mass,
    blending_index,
    u_fraction,
    viscosity_of_index,
)
from fluidapp.calc.oil.density import (
    K_LUBE,
    RANGE_C,
    RANGE_RHO,
    RHO15_TYPICAL,
    U_RHO15,
    convert_volume,
    out_of_table,
    rho15,
    vcf,
    vcf_general,
    weight,
)
from fluidapp.calc.oil.dilution import rinse_cycles, rinse_litres, share_come_in, share_left
from fluidapp.calc.oil.families import blend_remarks, family_change, improved
from fluidapp.calc.oil.grades import ISO_VG, SAE_ENGINE, SAE_GEAR, iso_limits, iso_vg, nearest_iso_vg, sae_engine, sae_gear
from fluidapp.calc.oil.index import index_limits, viscosity_index
from fluidapp.calc.oil.saybolt import from_saybolt, saybolt_seconds
from fluidapp.calc.oil.typical import PRODUCTS, rho15_of
from fluidapp.calc.oil.viscosity import temperature_for, transform, viscosity_at, viscosity_remarks, walther

__all__ = [
    "ISO_VG",
    "K_LUBE",
    "PRODUCTS",
    "RANGE_C",
    "RANGE_RHO",
    "RHO15_TYPICAL",
    "SAE_ENGINE",
    "SAE_GEAR",
    "U_RHO15",
    "Interval",
    "blend_density",
    "blend_fraction",
    "blend_fraction_interval",
    "blend_fraction_open",
    "blend_remarks",
    "blend_viscosity",
    "blend_viscosity_by_mass",
    "blending_index",
    "convert_volume",
    "family_change",
    "from_saybolt",
    "improved",
    "index_limits",
    "iso_limits",
    "iso_vg",
    "nearest_iso_vg",
    "out_of_table",
    "rho15",
    "rho15_of",
    "rinse_cycles",
    "rinse_litres",
    "sae_engine",
    "sae_gear",
    "saybolt_seconds",
    "share_come_in",
    "share_left",
    "temperature_for",
    "transform",
    "u_fraction",
    "vcf",
    "vcf_general",
    "viscosity_at",
    "viscosity_index",
    "viscosity_of_index",
    "viscosity_remarks",
    "walther",
    "weight",
]
