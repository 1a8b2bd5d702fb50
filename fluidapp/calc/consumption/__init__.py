"""Which machines take more oil than they used to, what it costs, and where to look first."""

from fluidapp.calc.consumption.charts import Limits, individuals, moving_average
from fluidapp.calc.consumption.counts import GammaRate, count_limits, rate_interval, rate_limits
from fluidapp.calc.consumption.cusum import one_split, running, tabular
from fluidapp.calc.consumption.first import (
    NOTHING,
    Finding,
    LookFirst,
    at_once,
    day_words,
    gained,
    look_first,
    more_than_a_change,
    takes_more,
    twice,
    two_days,
)
from fluidapp.calc.consumption.flags import poured_lately, twice_its_median, two_days_running
from fluidapp.calc.consumption.fleet import Fleet, charge_l, level_doubt, review_fleet
from fluidapp.calc.consumption.flows import FLOWS, PURPOSES, Accounted, account, sort, totals
from fluidapp.calc.consumption.picture import UsePicture, picture
from fluidapp.calc.consumption.rates import Compared, Rates, compare, rates
from fluidapp.calc.consumption.review import Z_LIMIT, Review, review
from fluidapp.calc.consumption.rising import Rise, over_the_lip, risen
from fluidapp.calc.consumption.robust import Baseline, levels_repeat, modified_z
from fluidapp.calc.consumption.series import Intervals, Sorted, by_meter_or_week, intervals
from fluidapp.calc.consumption.yearly import FLOOR_SOURCE, Cost, Yearly, against_floor, cost, drip_litres, drop_litres, makeup_ratio

__all__ = [
    "FLOOR_SOURCE",
    "FLOWS",
    "NOTHING",
    "PURPOSES",
    "Z_LIMIT",
    "Accounted",
    "Baseline",
    "Compared",
    "Cost",
    "Finding",
    "Fleet",
    "GammaRate",
    "Intervals",
    "Limits",
    "LookFirst",
    "Rates",
    "Review",
    "Rise",
    "Sorted",
    "UsePicture",
    "Yearly",
    "account",
    "against_floor",
    "at_once",
    "by_meter_or_week",
    "charge_l",
    "compare",
    "cost",
    "count_limits",
    "day_words",
    "drip_litres",
    "drop_litres",
    "gained",
    "individuals",
    "intervals",
    "level_doubt",
    "levels_repeat",
    "look_first",
    "makeup_ratio",
    "modified_z",
    "more_than_a_change",
    "moving_average",
    "one_split",
    "over_the_lip",
    "picture",
    "poured_lately",
    "rate_interval",
    "rate_limits",
    "rates",
    "review",
    "review_fleet",
    "risen",
    "running",
    "sort",
    "tabular",
    "takes_more",
    "totals",
    "twice",
    "twice_its_median",
    "two_days",
    "two_days_running",
]
