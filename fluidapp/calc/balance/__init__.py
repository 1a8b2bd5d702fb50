"""Where the oil went: what was lost, gained, poured and drained, summed up ±, and fitted to the laws of a closed system."""

from fluidapp.calc.balance.accounting import Account, Change, Line, account, change_between, level_change
from fluidapp.calc.balance.reconciling import Reconciled, measurement_test, nodal_test, reconcile
from fluidapp.calc.balance.separate import Advice, advise, next_check
from fluidapp.calc.balance.stories import FMAX_L, Ranking, Story, Tied, kept, rank, ranking, single_ways

__all__ = [
    "FMAX_L",
    "Account",
    "Advice",
    "Change",
    "Line",
    "Ranking",
    "Reconciled",
    "Story",
    "Tied",
    "account",
    "advise",
    "change_between",
    "kept",
    "level_change",
    "measurement_test",
    "next_check",
    "nodal_test",
    "rank",
    "ranking",
    "reconcile",
    "single_ways",
]
