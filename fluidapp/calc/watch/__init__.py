"""Is it holding? Levels followed over time after a repair, or because somebody wants to know."""

from fluidapp.calc.watch.paths import ABOUT, About, about
from fluidapp.calc.watch.planning import hours_until_visible
from fluidapp.calc.watch.series import End, Move, Point, Series, parked, working
from fluidapp.calc.watch.trend import LEAK_L_H, Kind, Poured, Trend, Verdict, earliest_h, trend

__all__ = [
    "ABOUT",
    "LEAK_L_H",
    "About",
    "End",
    "Kind",
    "Move",
    "Point",
    "Poured",
    "Series",
    "Trend",
    "Verdict",
    "about",
    "earliest_h",
    "hours_until_visible",
    "parked",
    "trend",
    "working",
]
