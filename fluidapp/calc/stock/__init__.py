"""Is there enough oil, when to order, what it costs, and what has to leave as used oil."""

from fluidapp.calc.stock.ahead import Course, Cover, Planned, cover, forecast, used_oil, weekly_use
from fluidapp.calc.stock.money import HandedOver, handed_over, period_cost, total_cost
from fluidapp.calc.stock.onhand import OnHand, Packed, on_hand, packed
from fluidapp.calc.stock.reorder import (
    Level,
    Policy,
    containers,
    demand_up_to,
    order_policy,
    order_up_to_normal,
    order_up_to_poisson,
    rate_of,
    reorder_point,
)

__all__ = [
    "Course",
    "Cover",
    "HandedOver",
    "Level",
    "OnHand",
    "Packed",
    "Planned",
    "Policy",
    "containers",
    "cover",
    "demand_up_to",
    "forecast",
    "handed_over",
    "on_hand",
    "order_policy",
    "order_up_to_normal",
    "order_up_to_poisson",
    "packed",
    "period_cost",
    "rate_of",
    "reorder_point",
    "total_cost",
    "used_oil",
    "weekly_use",
]
