"""The question guide: what to ask and look at, the cheapest first; each answer keeps or removes ways that the oil may have gone.

Common practice, no source. Steps as in :func:`fluidapp.calc.balance.kept`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fluidapp.calc.balance import single_ways
from fluidapp.calc.leak_paths import in_words, node_labels, node_names
from fluidapp.errors import Unknown
from fluidapp.model import Machine

NOT_LOOKED = "not looked"


@dataclass(frozen=True, slots=True)
class Option:
    """One answer: steps that it rules out, steps that it proves, what it says, and whether the walk stops there."""

    text: str
    removed: tuple[str, ...] = ()
    needed: tuple[str, ...] = ()
    says: str = ""
    stop: bool = False


@dataclass(frozen=True, slots=True)
class Question:
    """One question. key : where the answer is kept; node : the compartment that is looked at, "" for the machine."""

    key: str
    text: str
    options: tuple[Option, ...]
    node: str = ""

    def option(self, text: str) -> Option:
        """The option of that text; "not looked" says nothing. Unknown, with the list, for any other."""
        for one in (*self.options, Option(NOT_LOOKED)):
            if one.text == text:
                return one
        raise Unknown("Answer", text, [o.text for o in self.options])


@dataclass(frozen=True, slots=True)
class Guide:
    """Where the walk stands: the answered questions, the next one (None at its end), and what the answers did.

    removed, needed : steps for the stories. stopped : what has to be done before going on, "" while it goes on. says : what the answers
    say, oldest first. open_ways : ways that are still open, in the machine's words.
    """

    answered: tuple[tuple[Question, Option], ...]
    next: Question | None
    removed: tuple[str, ...]
    needed: tuple[str, ...]
    stopped: str
    says: tuple[str, ...]
    open_ways: tuple[str, ...]
    end: str


def questions(machine: Machine) -> list[Question]:
    """The walk for this machine, cheapest first: only compartments that it has."""
    names = node_names(machine)
    found = [
        Question(
            "state",
            "Read in the same posture, as warm, on level ground as last time?",
            (
                Option("yes"),
                Option(
                    "no", says="Posture, warmth and slope move litres: correct for them or read again before anything leaked.", stop=True
                ),
            ),
        ),
        Question(
            "unwritten",
            "Has anybody poured, drained or greased since and not written it down, or used the wrong hole?",
            (
                Option("no", removed=("R>*",)),
                Option("yes", says="Enter it as poured or drained, and balance again.", stop=True),
            ),
        ),
        Question(
            "wet",
            "Wet outside, or a hose, filter or attachment opened since?",
            (
                Option("dry all round", removed=("*>E",)),
                Option("wet", says="Wet outside: catch and measure it, and enter it; the rest is what has to be explained."),
                Option("opened", says="Something was opened: what ran out there is not written down unless somebody caught it."),
            ),
        ),
        Question(
            "drains",
            "Are all drain cocks and plugs shut and in their places?",
            (
                Option("yes", removed=("G>E",)),
                Option("no", says="Shut it, refill that case, write down what is missing, and balance again.", stop=True),
            ),
        ),
    ]
    for part in machine.compartments:
        if part.kind == "slewing gearbox" and part.grease_packed_kg is None:
            found.append(_gearbox(part.key, part.label, names[part.key]))
    for bath in machine.baths:
        found.append(_bath(bath.key, bath.label, names[bath.key]))
    for part in machine.compartments:
        if part.kind == "final drive":
            found.append(_drive(part.key, part.label, names[part.key]))
    found += [_case(part.key, part.label, part.kind) for part in machine.compartments if part.kind in ("pump-drive case", "engine sump")]
    if any(part.kind == "coolant" for part in machine.compartments):
        oily = "Oil in the coolant: the oil cooler may pass oil, where it is water-cooled."
        found.append(
            Question("coolant", "Is there an oil film on the coolant in the header tank?", (Option("no"), Option("yes", says=oily)))
        )
    return found


def guide(machine: Machine, answers: Mapping[str, str]) -> Guide:
    """What the answers so far (by question key) keep and remove, and what to ask next.

    Answers to questions behind one that stops the walk do not count. Unknown for an answer that is not offered.
    """
    answered: list[tuple[Question, Option]] = []
    removed: list[str] = []
    needed: list[str] = []
    says: list[str] = []
    after: Question | None = None
    stopped = ""
    for question in questions(machine):
        if question.key not in answers:
            after = question
            break
        option = question.option(answers[question.key])
        answered.append((question, option))
        removed += option.removed
        needed += option.needed
        says += [option.says] if option.says else []
        if option.stop:
            stopped = option.says
            break
    names = node_names(machine)
    labels = node_labels(machine, names)
    ways = single_ways(list(names.values()), removed)
    if needed:  # proved steps first
        ways.sort(key=lambda way: not any(n.replace(">", "") in way[0].replace(">", "") for n in needed))
    end = ""
    if after is None and not stopped:
        end = (
            "Every question is answered. Where no place took the oil up and the loss repeats, it leaks only under pressure or an entry is "
            "missing: no part is named. Open a level watch."
            if not needed
            else "Every question is answered."
        )
    return Guide(
        tuple(answered), after, tuple(removed), tuple(needed), stopped, tuple(says), tuple(in_words(way, labels) for way in ways), end
    )


def _gearbox(key: str, label: str, name: str) -> Question:
    return Question(
        f"stick-{key}",
        f"{label}: what does the stick show, and how does the oil look?",
        (
            Option("at the mark, thick", removed=(f"T>{name}", f"W>{name}", f"R>{name}")),
            Option("above, thin", needed=(f"T>{name}",), says=f"{label}: hydraulic oil came in: usually the slewing motor's shaft seal."),
            Option(
                "at or below, but thin", needed=(f"T>{name}",), says=f"{label}: hydraulic oil came in and went on, into the bath or out."
            ),
            Option(
                "below, thick", removed=(f"T>{name}", f"W>{name}", f"R>{name}"), says=f"{label}: it loses its own oil: lower seal, drain."
            ),
            Option("above, thick", removed=(f"T>{name}", f"W>{name}"), says=f"{label}: too much gear oil: ask who filled it."),
            Option("milky", removed=(f"R>{name}",), says=f"{label}: water: take a sample, find where it comes in."),
            Option("grease on it", says=f"{label}: grease of the bath got in: the lower seal passes both ways."),
        ),
        key,
    )


def _bath(key: str, label: str, name: str) -> Question:
    return Question(
        f"bath-{key}",
        f"{label}, or the drain of the carbody well: what comes out?",
        (
            Option("nothing liquid", removed=(f"T>{name}", f"W>{name}")),
            Option(
                "liquid oil",
                removed=(f"W>{name}",),
                says=f"{label}: free oil. With gear oil that is still thick it is usually the centre joint.",
            ),
            Option("milky", removed=(f"R>{name}",), says=f"{label}: water: take it all out, wipe, refill by hand."),
        ),
        key,
    )


def _drive(key: str, label: str, name: str) -> Question:
    return Question(
        f"plug-{key}",
        f"{label}, plug in its position: where does the oil stand?",
        (
            Option("at the lip, thick", removed=(f"T>{name}", f"W>{name}", f"R>{name}")),
            Option(
                "over the plug, thin",
                needed=(f"T>{name}",),
                says=f"{label}: hydraulic oil came in: usually that travel motor's shaft seal.",
            ),
            Option(
                "below, thick", removed=(f"T>{name}", f"W>{name}", f"R>{name}"), says=f"{label}: it loses its own oil: face seal, plug."
            ),
            Option("milky", removed=(f"R>{name}",), says=f"{label}: water: take a sample."),
        ),
        key,
    )


def _case(key: str, label: str, kind: str) -> Question:
    letter, seal = (
        ("P", "the main pump's shaft seal") if kind == "pump-drive case" else ("S", "the gear-driven pump's seal, or fuel or coolant")
    )
    wait = " after 30 minutes" if letter == "P" else ""
    return Question(
        f"case-{key}",
        f"{label}{wait}: has the level risen?",
        (
            Option("no", removed=(f"T>{letter}", f"F>{letter}", f"R>{letter}")),
            Option("yes", says=f"{label}: it has risen: {seal}. Read it into the balance."),
        ),
        key,
    )


def shown(guide_now: Guide) -> Sequence[str]:
    """The answered questions, one line each."""
    return [f"{question.text} **{option.text}**" for question, option in guide_now.answered]
