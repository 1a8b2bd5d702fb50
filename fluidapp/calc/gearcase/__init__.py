"""Gear case: how much hydraulic oil is in the gear oil, and whether it may stay."""

from fluidapp.calc.gearcase.answer import FAR, GearCase, check, rise_from
from fluidapp.calc.gearcase.judging import GUIDES, INDUSTRIAL, SEVERE, TRAVEL, Change, Limit, Viscosity, predicted
from fluidapp.calc.gearcase.shares import Combined, Rise, Sample, Share, by_rise, by_viscosity, combine, two_temperatures

__all__ = [
    "FAR",
    "GUIDES",
    "INDUSTRIAL",
    "SEVERE",
    "TRAVEL",
    "Change",
    "Combined",
    "GearCase",
    "Limit",
    "Rise",
    "Sample",
    "Share",
    "Viscosity",
    "by_rise",
    "by_viscosity",
    "check",
    "combine",
    "predicted",
    "rise_from",
    "two_temperatures",
]
