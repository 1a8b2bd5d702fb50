"""Consistency grades, and a warning before two greases meet. A chart never says that mixing is all right."""

from dataclasses import dataclass

from fluidapp.calc.limits import above_zero

# ASTM D217 worked penetration at 25 °C, 60 strokes, 0.1 mm (second-hand; the same under DIN ISO 2137, second-hand)
GRADES = {
    "000": (445, 475),
    "00": (400, 430),
    "0": (355, 385),
    "1": (310, 340),
    "2": (265, 295),
    "3": (220, 250),
    "4": (175, 205),
    "5": (130, 160),
    "6": (85, 115),
}

# Bureau of Reclamation, FIST 2-4 (November 1990), Table 2, "a guide" (second-hand). Pairs that it does not call incompatible.
THICKENERS = (
    "sodium",
    "aluminium complex",
    "barium",
    "calcium",
    "calcium complex",
    "clay",
    "lithium",
    "lithium complex",
    "polyurea",
)
_COMPATIBLE = {
    frozenset(p) for p in (("aluminium complex", "lithium complex"), ("calcium", "lithium complex"), ("lithium", "lithium complex"))
}
_BORDERLINE = {frozenset(p) for p in (("calcium", "lithium"), ("aluminium complex", "lithium"), ("clay",))}
_DEFAULT = "Take the old grease out first, unless the makers or a test (ASTM D6185) say that they mix."


@dataclass(frozen=True, slots=True)
class Mixing:
    """``chart`` is what one published table says of the pair; ``warning`` is what to show, "" only for one and the same grease."""

    chart: str
    warning: str


def nlgi_grade(penetration: float) -> str:
    """Consistency grade of a worked penetration [0.1 mm], or the two grades that it lies between. Never rounded to a grade.

    penetration > 0, OutOfRange otherwise. Bands include both ends. Source: ASTM D217 (second-hand).

    >>> [nlgi_grade(p) for p in (280, 265, 296, 475, 340.5, 480, 80)]
    ['2', '2', 'between 2 and 1', '000', 'between 1 and 0', 'softer than 000', 'harder than 6']
    """
    above_zero("penetration", penetration, "0.1 mm", "Enter the worked penetration, such as 280.")
    if penetration > 475:
        return "softer than 000"
    harder = "6"
    for grade, (low, high) in reversed(GRADES.items()):
        if low <= penetration <= high:
            return grade
        if penetration < low:
            return "harder than 6" if grade == "6" else f"between {harder} and {grade}"
        harder = grade
    return "softer than 000"


def mixing(old: str | None, new: str | None, same_product: bool = False) -> Mixing:
    """What to say before grease with thickener ``new`` goes where ``old`` is. It may only warn, never allow.

    old, new : thickeners as in ``THICKENERS``; None or any other name = unknown. same_product : it is one and the same grease.
    Source of ``chart``: Bureau of Reclamation, FIST 2-4, Table 2 (second-hand). Published charts contradict each other.

    >>> mixing("lithium", "clay").chart, mixing("lithium complex", "lithium").chart
    ('incompatible', 'compatible')
    >>> mixing("lithium complex", "lithium").warning[:16]
    'One chart allows'
    """
    if same_product:
        return Mixing("same grease", "")
    known = {old, new} <= set(THICKENERS)
    if not known or old is None or new is None:
        return Mixing("unknown", f"The thickener of one of the greases is not known. {_DEFAULT}")
    pair = frozenset((old, new))
    if pair in _BORDERLINE:
        return Mixing("borderline", f"One chart calls this pair borderline. {_DEFAULT}")
    if pair in _COMPATIBLE or len(pair) == 1:
        return Mixing("compatible", f"One chart allows this pair, but charts contradict each other. {_DEFAULT}")
    return Mixing("incompatible", f"These two greases may turn liquid or hard together. {_DEFAULT}")
