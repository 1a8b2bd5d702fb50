"""Typical products, to begin with and to be replaced: no figure here is a measurement, and none is a brand's."""

from fluidapp.calc.oil.density import RHO15_TYPICAL
from fluidapp.model import Product


def _oil(key: str, label: str, rho15: float, nu40: float, nu100: float) -> Product:
    return Product(key=key, label=label, kind="oil", rho15=rho15, nu40=nu40, nu100=nu100, nu_source="nominal")


# rho15 from memory; nu40 the middle of the ISO VG band, or from memory; nu100 of viscosity index 95 for ISO VG (computed by us), else
# from memory. All typical, editable
PRODUCTS = (
    _oil("hyd_vg32", "hydraulic oil ISO VG 32", 870.0, 32.0, 5.29),
    _oil("hyd_vg46", "hydraulic oil ISO VG 46", 870.0, 46.0, 6.65),
    _oil("hyd_vg68", "hydraulic oil ISO VG 68", 880.0, 68.0, 8.53),
    _oil("eng_10w30", "engine oil SAE 10W-30", 875.0, 72.0, 10.6),
    _oil("eng_15w40", "engine oil SAE 15W-40", 880.0, 108.0, 14.5),
    _oil("mono_30", "engine or power-train oil SAE 30", 890.0, 98.0, 11.0),
    _oil("gear_vg150", "gear oil ISO VG 150", 890.0, 150.0, 14.55),
    _oil("gear_vg220", "gear oil ISO VG 220", 895.0, 220.0, 18.75),
    _oil("gear_vg320", "gear oil ISO VG 320", 900.0, 320.0, 23.96),
    _oil("gear_80w90", "gear oil SAE 80W-90", 895.0, 145.0, 14.8),
    _oil("gear_85w140", "gear oil SAE 85W-140", 905.0, 350.0, 26.0),
    Product(key="grease_ep2", label="grease NLGI 2", kind="grease", rho15=900.0, nlgi="2"),
)


def rho15_of(product: Product | None, typical: float = RHO15_TYPICAL) -> float:
    """Density at 15 °C [kg/m3] of ``product``, or the ``typical`` one where no product or no density is entered.

    >>> rho15_of(PRODUCTS[0]), rho15_of(None)
    (870.0, 875.0)
    """
    return product.rho15 if product is not None and product.rho15 else typical
