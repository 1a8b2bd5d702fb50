"""Where the oil went: what was lost, gained, poured and drained, summed up ±, and fitted to the laws of a closed system."""

from fluidapp.calc.balance.accounting import Account, Change, Line, account, change_between, level_change
from fluidapp.calc.balance.reconciling import Reconciled, measurement_test, nodal_test, reconcile

__all__ = [
    "Account",
    "Change",
    "Line",
    "Reconciled",
    "account",
    "change_between",
    "level_change",
    "measurement_test",
    "nodal_test",
    "reconcile",
]
