"""What comes next, and when: intervals by hours or calendar, the hour meter cleaned, dates with their range, the due list."""

from fluidapp.calc.due.answer import Greased, due_list, point_due, questions, task_due, unmatched
from fluidapp.calc.due.history import Event, Start, What, does, start
from fluidapp.calc.due.looks import Fault, Look, believed, hours, on, stuck
from fluidapp.calc.due.meter import Meter, read_meter
from fluidapp.calc.due.projection import Projection, Use, project, reach, use
from fluidapp.calc.due.rule import NEVER, Charge, Due, Target, aim, next_due

__all__ = [
    "NEVER",
    "Charge",
    "Due",
    "Event",
    "Fault",
    "Greased",
    "Look",
    "Meter",
    "Projection",
    "Start",
    "Target",
    "Use",
    "What",
    "aim",
    "believed",
    "does",
    "due_list",
    "hours",
    "next_due",
    "on",
    "point_due",
    "project",
    "questions",
    "reach",
    "read_meter",
    "start",
    "stuck",
    "task_due",
    "unmatched",
    "use",
]
